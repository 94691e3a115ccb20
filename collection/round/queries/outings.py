"""Whether a car is out on the road: its last move says so."""

from datetime import date

from django.db.models import OuterRef, Q, QuerySet, Subquery
from django.db.models.fields.json import KT

from collection.care.queries.care import open_tags
from collection.models import CareKind, Entry, Evidence, ReadyBy, Vehicle
from collection.models.care import effective
from collection.recommission.queries import evidence_of

ON_THE_ROAD = "on the road"  # the place that a move out says in words
ODOMETER = "odometer_reading"  # the evidence that a reading of it becomes


def _moves() -> QuerySet[Entry]:
    moves = effective(Entry.objects.filter(kind=CareKind.MOVED, details__wheels_only=False))
    return moves.order_by("-done_at", "-recorded_at")


def out_since(vehicle: Vehicle) -> Entry | None:
    """The move with which it went out; None while it is here."""
    last = None if vehicle.bay_id else _moves().filter(vehicle=vehicle).first()
    return last if last and last.details.get("to_bay_label") == ON_THE_ROAD else None


def not_out(vehicles: QuerySet[Vehicle]) -> QuerySet[Vehicle]:
    """Those that are here: nobody can work at a car on the road."""
    places = _moves().filter(vehicle=OuterRef("pk")).annotate(place=KT("details__to_bay_label"))
    here = Q(bay__isnull=False) | Q(_place__isnull=True) | ~Q(_place=ON_THE_ROAD)
    return vehicles.alias(_place=Subquery(places.values("place")[:1])).filter(here)


def last_odometer(vehicle: Vehicle) -> Evidence | None:
    """The latest reading on record."""
    rows = [row for row in evidence_of(vehicle) if row.odometer_km is not None]
    return max(rows, key=lambda row: (row.on or row.recorded_at.date(), row.recorded_at), default=None)


def outing_offered(vehicle: Vehicle, today: date) -> str:
    """``back`` for a car that is out, ``out`` for one here, untagged and wanted on a day, else empty."""
    if vehicle.left_on:
        return ""
    if out_since(vehicle):
        return "back"
    wanted = ReadyBy.objects.filter(vehicle=vehicle, day__gte=today).exists()
    return "out" if wanted and not open_tags([vehicle]).exists() else ""
