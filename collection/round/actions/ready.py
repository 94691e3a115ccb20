"""A car is wanted ready on a day, or no longer; the plan follows."""

from datetime import date, datetime, timedelta

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.models import Person, ReadyBy, Vehicle
from collection.round.actions.plans import kept_plan
from collection.round.queries.staff import site_of

FARTHEST = timedelta(days=2 * 365)  # policy: a day beyond is a slip of the pen


def want_ready(
    *, vehicle: Vehicle, day: date, purpose: str, by: Person, today: date, now: datetime
) -> ReadyBy:
    """Keep the wish; ValidationError names the field and the fix."""
    if vehicle.left_on:
        raise ValidationError(f"{vehicle} has left storage: it cannot be made ready here.")
    if day < today:
        raise ValidationError({"day": "That day is past: choose today or a later day."})
    if day > today + FARTHEST:
        raise ValidationError({"day": "That is more than two years ahead: check the year."})
    with transaction.atomic():
        wish, made = ReadyBy.objects.get_or_create(
            vehicle=vehicle, day=day, defaults={"purpose": purpose, "by": by, "asked_at": now}
        )
        if not made:
            raise ValidationError(
                {"day": f"It is wanted on that day already ({wish.purpose}): withdraw that first."}
            )
    _plan(vehicle, today, now)
    return wish


def withdraw(*, wish: ReadyBy, today: date, now: datetime) -> None:
    """It is no longer wanted."""
    vehicle = wish.vehicle
    wish.delete()
    _plan(vehicle, today, now)


def _plan(vehicle: Vehicle, today: date, now: datetime) -> None:
    if site := site_of(vehicle):
        kept_plan(site=site, today=today, now=now)
