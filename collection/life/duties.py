"""Computed duties as lines that a page can show: state, window, reason."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Q

from collection.life.first_states import first_state_of
from collection.models import DutyRow, Site, Vehicle
from collection.permissions import Access
from scheduler.vocabulary.duties import DUTIES, DUTY

DUTY_TITLES = {duty.code: duty.title for duty in DUTIES}
LOOK_FIRST = {
    "battery": "measure the battery at rest",
    "fuel": "note what is in the tank, and since when",
    "fluids": "test it, or note when it was changed",
    "tyres": "read the tyres, and note when the car last rolled",
    "last": "note when it was last run or looked over",
}
# The one that looks at the whole car: it ends silences, and what it found clean speaks for a while.
INSPECTION = next(duty.code for duty in DUTIES if duty.seen_on_any_visit)
HARM_NEAR, THIS_WEEK, THIS_MONTH = timedelta(days=3), timedelta(days=7), timedelta(days=30)
# Ordered by harm. What is not known stands before what may wait: an unknown car never looks best.
STATE_ORDER = ("act_now", "this_week", "this_month", "unknown", "later", "on_hold")
ASKED = ("act_now", "this_week")  # states in which a duty falls to be done now
HARMS = 100  # more than there are ranks of harm: a place in the list is the state's, then the duty's own


# Work on what nobody knows waits for a look; the look itself does not.
PLANNED = Q(unknown=False) | Q(duty=INSPECTION)


@dataclass(frozen=True)
class DutyLine:
    """One duty of one car, as a page says it."""

    vehicle: Vehicle
    duty: str
    state: str  # one of STATE_ORDER
    first_state: str  # one of FIRST_STATES
    early: date | None
    due: date | None
    late: date | None
    limit: str
    hold: str
    assumed: bool
    name: str = ""  # of one that a keeper added
    minutes: int | None = None  # the same: at the car, where its keeper said

    @property
    def by(self) -> date | None:
        """The one date of the duty: the last day before harm may begin."""
        return self.late or self.due

    @property
    def look_first(self) -> str:
        """What would make it known."""
        return LOOK_FIRST[DUTY[self.duty].record]

    @property
    def title(self) -> str:
        """The duty in words."""
        if self.name:
            return self.name
        return "Look it over" if self.is_whole_car else DUTY_TITLES[self.duty]

    @property
    def is_whole_car(self) -> bool:
        """Whether nothing is known of the car: it is to be looked over first."""
        return self.state == "unknown" and self.duty == INSPECTION

    @property
    def care_kind(self) -> str:
        """The kind of care log entry that answers this duty."""
        return DUTY[self.duty].answered_by[0].care

    @property
    def is_timed(self) -> bool:
        """Whether a phone counts the minutes of it."""
        return DUTY[self.duty].timed

    @property
    def order(self) -> tuple[int, date, str]:
        """Most urgent first: by state, within it by the harm of waiting, then by date."""
        return order_of(self.state, self.duty), self.by or date.max, self.duty


def order_of(state: str, duty: str) -> int:
    """The place of a duty in a list by harm; the database keeps it as a car's rank."""
    first = state == "unknown" and duty == INSPECTION  # the whole car is to be looked over
    return STATE_ORDER.index(state) * HARMS + (0 if first else DUTY[duty].harm_rank)


def state_of(row: DutyRow, today: date) -> str:
    """How soon waiting does harm, from the last day of the window alone: one of ``STATE_ORDER``.

    On hold whatever the dates; unknown where the record gives nothing that a date could count from.
    """
    if row.hold:
        return "on_hold"
    if row.unknown:
        return "unknown"
    by = row.late or row.due
    if by is None:
        return "later"
    if by <= today + HARM_NEAR:
        return "act_now"
    if by <= today + THIS_WEEK:
        return "this_week"
    return "this_month" if by <= today + THIS_MONTH else "later"


def lines(rows: Iterable[DutyRow], today: date) -> list[DutyLine]:
    """The rows as lines, most urgent first; rows must come with their vehicle."""
    return sorted((line_of(row, today) for row in rows), key=lambda line: line.order)


def line_of(row: DutyRow, today: date) -> DutyLine:
    """One row as a line; it must come with its vehicle."""
    return DutyLine(
        vehicle=row.vehicle,
        duty=row.duty,
        state=state_of(row, today),
        first_state=first_state_of(row, today),
        early=row.early,
        due=row.due,
        late=row.late,
        limit=row.limit,
        hold=row.hold,
        assumed=row.assumed,
        name=row.title,
        minutes=row.minutes,
    )


def duties_due(
    access: Access, *, today: date, site: Site | None = None, wanted: Q | None = None
) -> list[DutyLine]:
    """The duties of every car that this person may see; ``site``: of those there and of those in no bay.

    ``wanted`` says in the database's words which rows are asked for; each car is read once.
    """
    cars = access.vehicles().filter(left_on__isnull=True)
    if site:
        cars = cars.filter(standing_at(site))
    rows = list(DutyRow.objects.filter(wanted or Q(), vehicle__in=cars))
    related = cars.filter(pk__in={row.vehicle_id for row in rows}) if wanted else cars
    known = related.select_related("owner", "bay__building__site").in_bulk()
    for row in rows:
        row.vehicle = known[row.vehicle_id]
    return lines(rows, today)


def titles_at(organisation_pk: int) -> dict[str, str]:
    """The titles of every duty there, those that keepers added among them."""
    own = DutyRow.objects.filter(vehicle__organisation=organisation_pk).exclude(title="")
    return DUTY_TITLES | dict(own.values_list("duty", "title"))


def standing_at(site: Site, of: str = "") -> Q:
    """Cars at the site, and those in no bay, which may stand anywhere; ``of`` leads to the car."""
    return Q(**{f"{of}bay__isnull": True}) | Q(**{f"{of}bay__building__site": site})


def lines_of(vehicle: Vehicle, today: date) -> list[DutyLine]:
    """The duties of one car, most urgent first."""
    return lines(DutyRow.objects.filter(vehicle=vehicle).select_related("vehicle"), today)


@dataclass(frozen=True)
class Summary:
    """How many duties stand in each state, of how many cars."""

    act_now: int
    this_week: int
    this_month: int
    unknown: int
    on_hold: int
    cars: int


COUNTED = ("act_now", "this_week", "this_month", "unknown", "on_hold")


def summary(lines: Iterable[DutyLine]) -> Summary:
    """The count over the lines shown."""
    lines = list(lines)
    states = Counter(line.state for line in lines)
    counts = {name: states[name] for name in COUNTED}
    return Summary(cars=len({line.vehicle.pk for line in lines}), **counts)
