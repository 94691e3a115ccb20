"""A sensor is made with a token of its own, which is shown once; it may send readings and nothing else."""

import hashlib
import secrets
from datetime import datetime, timedelta

from django.core.exceptions import ValidationError
from django.db.models import Case, F, Value, When

from collection.models import Building, Organisation, Person, Sensor, Site, Vehicle
from collection.models.api import PREFIX
from collection.web.faults import check

MARK = "lss_"  # so that a token left lying about is known for what it is
SECRET_BYTES = 32  # 256 bits from the system's source: not to be guessed, so misses need no counting
MOST_SENSORS = 500  # policy: open ones an organisation
MOST_A_MINUTE = 30  # policy: batches; a sensor that sends every reading alone sends one
Place = Site | Building | Vehicle


def make_sensor(
    *, organisation: Organisation, place: Place, name: str, by: Person, now: datetime
) -> tuple[Sensor, str]:
    """A new sensor and its token, which nobody can be told again; ValidationError names what is missing."""
    secret = MARK + secrets.token_urlsafe(SECRET_BYTES)
    sensor = Sensor(
        organisation=organisation,
        name=name,
        prefix=secret[:PREFIX],
        digest=_digest_of(secret),
        made_at=now,
        by=by,
        **{type(place).__name__.lower(): place},
    )
    check(sensor, {})
    if organisation.sensors.filter(ended_at=None).count() >= MOST_SENSORS:
        raise ValidationError(f"There are {MOST_SENSORS} sensors here: end one first.")
    sensor.save()
    return sensor, secret


def end_sensor(*, sensor: Sensor, now: datetime) -> None:
    """Turn its token away from now on. What it measured stays."""
    Sensor.objects.filter(pk=sensor.pk, ended_at=None).update(ended_at=now)


def use_token(*, secret: str, now: datetime) -> Sensor | None:
    """The sensor of a token that has not ended, nor its car gone; this batch counts in ``used_in_minute``."""
    minute = now.replace(second=0, microsecond=0)
    row = Sensor.objects.filter(digest=_digest_of(secret), ended_at=None, vehicle__left_on=None)
    again = When(minute=minute, then=F("used_in_minute") + 1)
    if not row.update(used_in_minute=Case(again, default=Value(1)), minute=minute):
        return None
    return row.select_related("site", "building", "vehicle").first()


def seconds_to_wait(sensor: Sensor, now: datetime) -> int:
    """Until it may send again; 0 where it may now."""
    if sensor.used_in_minute <= MOST_A_MINUTE:
        return 0
    minute = now.replace(second=0, microsecond=0)
    return int((minute + timedelta(minutes=1) - now).total_seconds()) + 1


def _digest_of(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
