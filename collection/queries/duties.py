"""Computed duties as lines that a page can show: state, window, reason."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from collection.models import CareKind, DutyRow, Site, Vehicle
from collection.permissions import Access

DUTY_TITLES = {
    "charge": "Maintainer charge",
    "run_up": "Run-up",
    "stabiliser": "Fuel stabiliser",
    "fuel_change": "Fuel change",
    "engine_oil": "Engine oil",
    "coolant": "Coolant",
    "brake_fluid": "Brake fluid",
    "gearbox_oil": "Gearbox oil",
    "axle_oil": "Axle oil",
    "tyre_pressure": "Tyre pressures",
    "tyre_move": "Move off its tyre spots",
    "inspection": "Walk-round",
}
CARE_FOR_DUTY = {
    "charge": CareKind.CHARGE,
    "run_up": CareKind.RUN_UP,
    "stabiliser": CareKind.STABILISER,
    "fuel_change": CareKind.FUEL_DRAINED,
    "engine_oil": CareKind.FLUID_CHANGED,
    "coolant": CareKind.FLUID_CHANGED,
    "brake_fluid": CareKind.FLUID_CHANGED,
    "gearbox_oil": CareKind.FLUID_CHANGED,
    "axle_oil": CareKind.FLUID_CHANGED,
    "tyre_pressure": CareKind.TYRE_PRESSURES,
    "tyre_move": CareKind.MOVED,
    "inspection": CareKind.INSPECTED,
}
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
        return CARE_FOR_DUTY[self.duty]

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
    made = (
        DutyLine(
            vehicle=row.vehicle, duty=row.duty, state=state_of(row, today), early=row.early,
            due=row.due, late=row.late, limit=row.limit, hold=row.hold, assumed=row.assumed,
        )
        for row in rows
    )  # fmt: skip
    return sorted(made, key=lambda line: line.order)


def duties_due(
    access: Access,
    *,
    today: date,
    site: Site | None = None,
    owner: int | None = None,
    duty: str = "",
    horizon_days: int | None = None,
) -> list[DutyLine]:
    """The duties of every car that this person may see; a horizon leaves out later dates."""
    rows = access.duties().select_related("vehicle__owner", "vehicle__bay__building__site")
    if site:
        rows = rows.filter(vehicle__bay__building__site=site)
    if owner:
        rows = rows.filter(vehicle__owner=owner)
    if duty:
        rows = rows.filter(duty=duty)
    if horizon_days is not None:
        rows = rows.filter(due__lte=today + timedelta(days=horizon_days))
    return lines(rows, today)


def lines_of(vehicle: Vehicle, today: date) -> list[DutyLine]:
    """The duties of one car, most urgent first."""
    return lines(DutyRow.objects.filter(vehicle=vehicle).select_related("vehicle"), today)
