"""A batch of readings: each is taken or refused by itself, one that is here already counts once."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import pairwise
from statistics import median

from django.db import transaction

from collection.models import Building, Sensor, SensorReading, Site, Vehicle
from scheduler.vocabulary.sensed import SENSED_BY_CODE, Sensed

AHEAD = timedelta(minutes=5)  # policy: no clock that is set runs further ahead
OLDEST = timedelta(days=90)  # policy: a sensor that kept its readings without a signal sends them late
PLACES: dict[type, str] = {Site: "outdoors", Building: "in a building", Vehicle: "on a car"}


@dataclass(frozen=True)
class Sent:
    """One value as it was sent."""

    at: datetime
    quantity: str
    value: float
    position: str = ""

    @property
    def key(self) -> tuple[str, str, datetime]:
        """What makes it the same reading when it is sent again."""
        return self.quantity, self.position, self.at


@dataclass
class Taken:
    """How many readings are new, how many were here already; the others by their place in the batch."""

    stored: int = 0
    known: int = 0
    refused: dict[int, str] = field(default_factory=dict)


@transaction.atomic
def take_readings(*, sensor: Sensor, batch: Sequence[Sent], now: datetime) -> Taken:
    """Store what is new and true; the sensor's row says when it spoke and whether its clock is wrong."""
    taken, good = Taken(), {}
    for number, sent in enumerate(batch):
        if fault := _fault(sensor, sent, now):
            taken.refused[number] = fault
        else:
            good[sent.key] = sent
    moments = {sent.at for sent in good.values()}
    here = set(sensor.readings.filter(at__in=moments).values_list("quantity", "position", "at"))
    new = [sent for key, sent in good.items() if key not in here]
    SensorReading.objects.bulk_create(
        [
            SensorReading(sensor=sensor, quantity=s.quantity, position=s.position, at=s.at, value=s.value)
            for s in new
        ],
        ignore_conflicts=True,  # another request may carry the same
    )
    taken.stored, taken.known = len(new), len(batch) - len(taken.refused) - len(new)
    _heard(sensor, batch, new, now)
    return taken


def _fault(sensor: Sensor, sent: Sent, now: datetime) -> str:
    """Why a reading is not taken; empty where it is."""
    row = SENSED_BY_CODE.get(sent.quantity)
    place = type(sensor.place)
    if row is None:
        return f"quantity: {sent.quantity[:40]!r} is none: send one of {', '.join(SENSED_BY_CODE)}."
    if place.__name__.lower() not in row.places:
        return f"quantity: a sensor {PLACES[place]} sends no {row.code}."
    if wrong := _wrong_position(row, sent.position):
        return wrong
    if not row.low <= sent.value <= row.high:
        return f"value: {sent.value:g} cannot be: give {row.low:g} to {row.high:g} {row.unit}."
    if sent.at > now + AHEAD:
        return "at: lies in the future: set the sensor's clock."
    if sent.at < now - OLDEST:
        return f"at: lies more than {OLDEST.days} days back: set the sensor's clock."
    return ""


def _wrong_position(row: Sensed, position: str) -> str:
    known = [place.code for place in row.positions]
    if position in (known or [""]):
        return ""
    return f"position: send one of {', '.join(known)}." if known else f"position: {row.code} has none."


def _heard(sensor: Sensor, batch: Sequence[Sent], new: Sequence[Sent], now: datetime) -> None:
    ahead = max((sent.at - now for sent in batch), default=timedelta(0))
    sensor.heard_at = now
    sensor.clock_off_s = int(ahead.total_seconds()) if ahead > AHEAD else 0
    if new:
        newest = max(new, key=lambda sent: sent.at)
        if sensor.measured_at is None or newest.at >= sensor.measured_at:
            sensor.measured_at = newest.at
            sensor.last = sensor.last | {
                f"{sent.quantity} {sent.position}".strip(): sent.value
                for sent in sorted(new, key=lambda sent: sent.at)
            }
        sensor.every_s = _every_s(sensor) or sensor.every_s
    sensor.save(update_fields=["heard_at", "clock_off_s", "measured_at", "last", "every_s"])


def _every_s(sensor: Sensor) -> int | None:
    """How often it measures, by its newest moments; None for fewer than three."""
    newest = sensor.readings.order_by("-at").values_list("at", flat=True).distinct()[:20]
    apart = [(later - earlier).total_seconds() for later, earlier in pairwise(newest)]
    return int(median(apart)) if len(apart) > 1 else None
