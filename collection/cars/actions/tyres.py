"""Writing down the tyres, and whether the wheels carry the car."""

from collections.abc import Sequence
from datetime import date

from django.db import transaction

from collection.care.actions.record import Edit, recorded
from collection.life.core.choices import parse_date_code
from collection.life.refresh import refresh_vehicles
from collection.models import Tyre, Vehicle
from collection.web.faults import Faults, check, check_rows


@transaction.atomic
def save_tyres(*, vehicle: Vehicle, tyres: Sequence[Tyre], edit: Edit, today: date) -> None:
    """Save the tyres of a car and whether it is on stands; a tyre of which nothing is known is not kept.

    ValidationError names its fields ``position-field`` (``front_left-date_code``).
    """
    with recorded(vehicle, edit):
        put_tyres(vehicle=vehicle, tyres=tyres, today=today)
    refresh_vehicles([vehicle.pk], today=today)


def put_tyres(*, vehicle: Vehicle, tyres: Sequence[Tyre], today: date) -> None:
    """The same without an entry, and without working out the car's dates: for a car that is new."""
    known = [tyre for tyre in tyres if tyre.date_code or tyre.placard_kpa is not None]
    check(vehicle, {})
    check_rows((tyre.position, tyre, _faults(tyre, today)) for tyre in known)
    vehicle.save(update_fields=["on_stands"])
    vehicle.tyres.exclude(position__in=[tyre.position for tyre in known]).delete()
    for tyre in known:
        tyre.save()


def _faults(tyre: Tyre, today: date) -> Faults:
    if not tyre.date_code:
        return {}
    try:
        parse_date_code(tyre.date_code, today)
    except ValueError as fault:
        return {"date_code": str(fault)}
    return {}
