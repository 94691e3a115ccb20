"""Reading the care log: what stands, what is open, what was last measured."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, tzinfo
from zoneinfo import ZoneInfo

from django.db.models import F, QuerySet, Window
from django.db.models.functions import RowNumber
from django.utils import timezone

from collection.models import UNMARKED, Bay, CareKind, Entry, Reading, Vehicle
from collection.models.care import effective, readings_of


def log_of(vehicle: Vehicle) -> QuerySet[Entry]:
    """The whole log of a car, latest first, corrected entries too, ready to list without more queries."""
    return (
        vehicle.entries.select_related("by", "corrects", "corrected_by__by")
        .prefetch_related("readings", "attachments")
        .order_by("-done_at", "-recorded_at")
    )


def open_tags(vehicles: Iterable[Vehicle]) -> QuerySet[Entry]:
    """Tags that hang on these cars now, oldest first."""
    entries = effective(Entry.objects.filter(vehicle__in=list(vehicles)))
    gone = set(entries.filter(kind=CareKind.TAG_CLOSED).values_list("details__opened", flat=True))
    tags = entries.filter(kind=CareKind.TAG_OPENED).exclude(pk__in=gone)
    return tags.select_related("by").prefetch_related("readings").order_by("done_at")


def open_findings(vehicles: Iterable[Vehicle]) -> QuerySet[Entry]:
    """What was found on these cars and nobody has seen to yet, oldest first."""
    notes = effective(Entry.objects.filter(vehicle__in=list(vehicles), kind=CareKind.NOTE))
    answered = set(notes.filter(details__has_key="answers").values_list("details__answers", flat=True))
    waiting = notes.filter(details__has_key="found").exclude(pk__in=answered)
    return waiting.select_related("by").prefetch_related("readings").order_by("done_at")


def free_bays(bays: QuerySet[Bay], vehicle: Vehicle) -> QuerySet[Bay]:
    """Those of the bays in which no other car stands, in walking order.

    Of the places on the floor of each building one: there is always room for one car more.
    """
    others = Vehicle.objects.filter(left_on__isnull=True, bay__isnull=False).exclude(pk=vehicle.pk)
    free = bays.exclude(row=UNMARKED).exclude(pk__in=others.values("bay"))
    floor, own = bays.filter(row=UNMARKED, place=1), vehicle.bay
    if own and not own.is_marked:
        floor = floor.exclude(building=own.building_id) | bays.filter(pk=own.pk)
    order = ("building__site__name", "building__walk_order", "building__name", "row", "place")
    return (free | floor).select_related("building__site").order_by(*order)


def zone_of(vehicle: Vehicle) -> tzinfo:
    """The zone in which care of the car is dated: its site's, else the one in force."""
    bay = vehicle.bay
    return ZoneInfo(bay.building.site.time_zone) if bay else timezone.get_current_timezone()


@dataclass(frozen=True)
class LastReading:
    """The latest standing value of one quantity at one place on the car."""

    value: float
    on: datetime
    temperature_c: float | None = None


@dataclass(frozen=True)
class LastValues:
    """What a person at the car wants beside the field: last readings and last entries."""

    readings: dict[tuple[str, str], LastReading] = field(default_factory=dict)  # by quantity, position
    entries: dict[str, Entry] = field(default_factory=dict)  # by kind


def last_values(vehicle: Vehicle) -> LastValues:
    """The latest standing readings and entries of one car."""
    return last_values_of([vehicle])[vehicle.pk]


def last_values_of(vehicles: Iterable[Vehicle]) -> dict[int, LastValues]:
    """The same for many cars in two queries, by the car's key."""
    cars = list(vehicles)
    last = {car.pk: LastValues() for car in cars}
    for reading in _latest_readings(cars):
        at = reading.entry
        last[at.vehicle_id].readings[reading.quantity, reading.position] = LastReading(
            reading.value, at.done_at, reading.temperature_c
        )
    for entry in _latest_entries(cars):
        last[entry.vehicle_id].entries[entry.kind] = entry
    return last


def _latest_readings(cars: list[Vehicle]) -> QuerySet[Reading]:
    newest = Window(
        RowNumber(),
        partition_by=[F("entry__vehicle"), F("quantity"), F("position")],
        order_by=[F("entry__done_at").desc(), F("entry__recorded_at").desc(), F("pk").desc()],
    )
    standing = readings_of(cars).filter(entry__vehicle__in=cars, entry__corrected_by__isnull=True)
    return standing.select_related("entry").annotate(nth=newest).filter(nth=1)


def _latest_entries(cars: list[Vehicle]) -> QuerySet[Entry]:
    newest = Window(
        RowNumber(),
        partition_by=[F("vehicle"), F("kind")],
        order_by=[F("done_at").desc(), F("recorded_at").desc()],
    )
    return effective(Entry.objects.filter(vehicle__in=cars)).annotate(nth=newest).filter(nth=1)


def released(vehicle: Vehicle) -> bool:
    """Whether whoever kept the car last has handed it over and not had it back."""
    if vehicle.left_on is None:
        return False
    return vehicle.handovers.filter(organisation=vehicle.organisation_id).exists()


def day_of(entry: Entry) -> date:
    """The site's calendar day on which it was done."""
    return timezone.localtime(entry.done_at).date()


def unmended(entries: Sequence[Entry]) -> Iterator[tuple[Entry, date, str]]:
    """What inspections found since the last that found nothing wrong; standing entries, oldest first."""
    looks = [entry for entry in entries if entry.kind == CareKind.INSPECTED]
    clean = max((at for at, entry in enumerate(looks) if entry.details.get("ok")), default=-1)
    for entry in looks[clean + 1 :]:
        for words in entry.details.get("found") or []:
            yield entry, day_of(entry), words
