"""Computed duties as lines that a page can show: state, window, reason."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Q

from collection.models import DutyRow, Site, Vehicle
from collection.permissions import Access
from scheduler.vocabulary.duties import DUTIES, DUTY

DUTY_TITLES = {duty.code: duty.title for duty in DUTIES}
# The one that looks at the whole car: it ends silences, and what it found clean speaks for a while.
INSPECTION = next(duty.code for duty in DUTIES if duty.seen_on_any_visit)
SOON_DAYS = 14
STATE_ORDER = ("late", "due", "soon", "fine", "held")


@dataclass(frozen=True)
class DutyLine:
    """One duty of one car, as a page says it."""

    vehicle: Vehicle
    duty: str
    state: str  # a key of the badges: late, due, soon, fine, held
    early: date | None
    due: date | None
    late: date | None
    limit: str
    hold: str
    assumed: bool

    @property
    def title(self) -> str:
        """The duty in words."""
        return DUTY_TITLES[self.duty]

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
        """Most urgent first."""
        return STATE_ORDER.index(self.state), self.due or date.max, self.duty


def state_of(row: DutyRow, today: date) -> str:
    """Where today lies in the window: held, late, due, soon or fine."""
    if row.hold:
        return "held"
    if row.late and row.late < today:
        return "late"
    if row.due and row.due <= today:
        return "due"
    soon = row.due and row.due <= today + timedelta(days=SOON_DAYS)
    if soon or (row.early and row.early <= today):
        return "soon"
    return "fine"


def lines(rows: Iterable[DutyRow], today: date) -> list[DutyLine]:
    """The rows as lines, most urgent first; rows must come with their vehicle."""
    return sorted((line_of(row, today) for row in rows), key=lambda line: line.order)


def line_of(row: DutyRow, today: date) -> DutyLine:
    """One row as a line; it must come with its vehicle."""
    return DutyLine(
        vehicle=row.vehicle,
        duty=row.duty,
        state=state_of(row, today),
        early=row.early,
        due=row.due,
        late=row.late,
        limit=row.limit,
        hold=row.hold,
        assumed=row.assumed,
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


def standing_at(site: Site, of: str = "") -> Q:
    """Cars at the site, and those in no bay, which may stand anywhere; ``of`` leads to the car."""
    return Q(**{f"{of}bay__isnull": True}) | Q(**{f"{of}bay__building__site": site})


def lines_of(vehicle: Vehicle, today: date) -> list[DutyLine]:
    """The duties of one car, most urgent first."""
    return lines(DutyRow.objects.filter(vehicle=vehicle).select_related("vehicle"), today)


THIS_WEEK = timedelta(days=7)


@dataclass(frozen=True)
class Summary:
    """How many duties are late, due within seven days, and held."""

    late: int
    this_week: int
    held: int
    cars: int


def summary(lines: Iterable[DutyLine], today: date) -> Summary:
    """The count over the lines shown; what is late or held is not counted again as due."""
    lines = list(lines)
    states = Counter(line.state for line in lines)
    open_lines = (line for line in lines if line.state not in ("late", "held"))
    this_week = sum(1 for line in open_lines if line.due and line.due <= today + THIS_WEEK)
    return Summary(states["late"], this_week, states["held"], len({line.vehicle.pk for line in lines}))
