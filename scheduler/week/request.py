"""What a plan is made from: one site's tasks, cars, people and days, as plain rows.

Days are ordinals (whole numbers), times are minutes, keys are the caller's own.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from scheduler.week.weights import Weights
from scheduler.week.work import MOVE_MINUTES

NAN = float("nan")
VISIT_MINUTES = 3  # policy: cover off and on, a note; the work itself stands in the task
STEPS = 4_000  # of the search; a site of forty cars takes about six seconds of processor for them


@dataclass(frozen=True)
class Task:
    """One piece of care for one car; see ``work.WORK`` for what the fields default to.

    ``held``: why it may not be done now (empty: it may). ``pinned_day`` and ``pinned_person``: a
    person chose them; they override the window but never a hard rule. ``after``: the task that comes
    first; the window is that for its being done on its due day (or on the first day, if that is past),
    and moves with the day on which it is planned. ``wanted``: what its limit is set for, in words, where
    that is a day on which the car is to be ready ("Tue 12 May: show").
    """

    key: str
    car: str
    duty: str
    early: int
    due: int
    late: int
    minutes: int
    rank: int
    needs: tuple[str, ...] = ()
    occupies: int = 0
    leaves_bay: bool = False
    warm: bool = False
    held: str = ""
    pinned_day: int | None = None
    pinned_person: str | None = None
    after: str = ""
    wanted: str = ""


@dataclass(frozen=True)
class Car:
    """A car where it stands. ``position``: its place on the walk through the building.

    ``blocked_by``: cars directly in front. ``immovable``: why it may not be moved (empty: it may).
    ``runs_in_bay``: there is extraction at its bay, so a run-up moves nothing.
    """

    key: str
    label: str
    building: str
    position: int
    bay: str = ""
    blocked_by: tuple[str, ...] = ()
    immovable: str = ""
    runs_in_bay: bool = False


@dataclass(frozen=True)
class Building:
    """A building or a yard; ``walk_order`` 1 is visited first."""

    key: str
    label: str
    walk_order: int = 1
    open_air: bool = False


@dataclass(frozen=True)
class Person:
    """Someone who works at the site, and the duties that they may do (tyre_move: may move cars)."""

    key: str
    name: str
    may: frozenset[str]


@dataclass(frozen=True)
class Day:
    """One day: opening hours as minutes from midnight, each person's minutes, what stands ready.

    ``closed``: why nobody works (a holiday; empty: open). ``low_c``: the coldest working hour
    outside, NaN unknown. ``equipment``: how many of each are usable that day.
    """

    day: int
    opens: int
    closes: int
    staff_minutes: Mapping[str, int]
    equipment: Mapping[str, int] = field(default_factory=dict)
    closed: str = ""
    low_c: float = NAN
    storm: bool = False


@dataclass(frozen=True)
class Before:
    """Where the previous plan had a task."""

    day: int
    person: str


@dataclass(frozen=True)
class PlanRequest:
    """One site's plan to make. ``days`` run on without a gap; ``steps`` and ``seed`` are those of the search.

    ``travel``: minutes between two buildings, either way round; missing pairs take none.
    ``visit_minutes``: to walk up to a car, take its cover off, put it on again and write things down.
    ``coldest_yard_c``: no work in the open on a day colder than this.
    """

    days: tuple[Day, ...]
    tasks: tuple[Task, ...]
    cars: tuple[Car, ...]
    buildings: tuple[Building, ...]
    people: tuple[Person, ...]
    travel: Mapping[tuple[str, str], int] = field(default_factory=dict)
    previous: Mapping[str, Before] = field(default_factory=dict)
    coldest_yard_c: float = -5.0
    move_minutes: int = MOVE_MINUTES.likely
    weights: Weights = field(default_factory=Weights)
    visit_minutes: int = VISIT_MINUTES
    steps: int = STEPS
    seed: int = 1
