"""What a storage history tells, as plain values: page, paper and shared link say the same."""

from dataclasses import dataclass, field
from datetime import date

from collection.cars.words import Facts
from collection.drawing.days import format_day
from collection.drawing.strips import Strip
from collection.due.cells import Cell
from collection.history.doings import Brought, Doing, OpenFault
from collection.history.kept import Kept, count_days
from collection.history.known import Known, known_for
from collection.history.limits import Limit
from collection.history.missed import Missed
from collection.history.outlook import Condition
from collection.history.places import StayLine
from collection.history.scope import Scope
from collection.life.duties import DutyLine
from collection.models import Attachment, Vehicle
from collection.proof.summary import ProofSummary

NOT_WORKED_OUT = "Not worked out: the record does not allow it."
IDENTITY = ("Registration", "Chassis number", "Engine")


@dataclass(frozen=True)
class Answer:
    """One question of a buyer with its answer; ``more`` stands below it."""

    key: str
    question: str
    text: str
    more: tuple[str, ...] = ()


@dataclass(frozen=True)
class Tag:
    """A tag that hangs on the car now."""

    words: str
    day: date
    by: str


@dataclass(frozen=True)
class LastTime:
    """One of the five last times before the log began, how it is known, and how well."""

    event: str
    day: date
    basis: str
    grade: int


@dataclass(frozen=True)
class DutyTold:
    """One duty as it stands now: its dates in words, the reason, what was assumed."""

    line: DutyLine
    when: str
    summary: str
    assumptions: tuple[str, ...]


@dataclass(frozen=True)
class System:
    """The duties of one system."""

    title: str
    duties: tuple[DutyTold, ...]


@dataclass(frozen=True)
class RecordTold:
    """One save of the car's record, and how well it is known."""

    day: date
    changes: tuple[str, ...]
    by: str
    basis: str
    grade: int


@dataclass
class Story:
    """Everything that the reader is told."""

    vehicle: Vehicle
    scope: Scope
    today: date
    first: date
    last: date
    facts: Facts
    owner: str
    kept_by: str
    stays: list[StayLine]
    doings: list[Doing]
    lines: list[Doing | Brought]  # the same, what larger tables brought as one line each
    record: list[RecordTold]
    seal: ProofSummary | None
    known: Known
    last_times: list[LastTime] = field(default_factory=list)
    tags: list[Tag] = field(default_factory=list)
    open_faults: list[OpenFault] = field(default_factory=list)
    kept: list[Kept] = field(default_factory=list)
    missed: list[Missed] = field(default_factory=list)
    limits: list[Limit] = field(default_factory=list)
    systems: list[System] = field(default_factory=list)
    condition: Condition | None = None
    cells: list[Cell] = field(default_factory=list)  # what presses most in each part of it
    years: list[Strip] = field(default_factory=list)
    answers: list[Answer] = field(default_factory=list)
    fault: str = ""

    @property
    def identity(self) -> str:
        """What tells this car from another."""
        known = [f"{name.lower()} {value}" for name, value in self.facts if name in IDENTITY and value]
        text = " · ".join(known) or "No registration, chassis number or engine is on record."
        return text[:1].upper() + text[1:]

    @property
    def state_lines(self) -> list[str]:
        """What stands below the state of each part."""
        found = len(self.open_faults)
        lines = ["" if self.cells else self.untold, f"Found and not yet mended: {found}." if found else ""]
        return [line for line in lines if line]

    @property
    def standing(self) -> list[Doing]:
        """The entries that still stand."""
        return [doing for doing in self.doings if not doing.gone]

    @property
    def photograph(self) -> Attachment | None:
        """The one that is shown of the car, where the reader may see it."""
        files = (file for doing in self.doings for file in doing.files)
        return next((file for file in files if file.pk == self.vehicle.photograph_id), None)

    @property
    def untold(self) -> str:
        """Why nothing is said of its state now."""
        if self.fault:
            return NOT_WORKED_OUT
        return f"Not told: this history ends on {format_day(self.last)}."

    @property
    def unasked(self) -> int:
        """The days before the log began, of which no duty knows whether it was asked for."""
        return min(self.known.days, *(line.unknown_days for line in self.kept)) if self.kept else 0

    @property
    def asked_for(self) -> str:
        """For how much of the time the counts of duties speak."""
        return known_for(self.known.days - self.unasked, self.unasked)

    @property
    def kept_about(self) -> str:
        """By what the duties were counted, and what is not known of them."""
        before = f"; not known for {count_days(self.unasked)} before the log began" if self.unasked else ""
        return (
            f"Counted day by day, by what was known and by the limits in force on each day{before}. What "
            "was held when it was first written down counts from the first"
        )
