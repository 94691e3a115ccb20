"""Writing down the battery in the car, and fitting another."""

from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.care.actions.record import Edit, recorded
from collection.life.core.choices import chemistries
from collection.life.refresh import refresh_vehicles
from collection.models import Battery
from collection.web.faults import Faults, before, check, in_future, unknown

DATES = ("made_on", "installed_on", "removed_on", "maintainer_since")


@transaction.atomic
def save_battery(*, battery: Battery, edit: Edit, today: date) -> Battery:
    """Save what is known of a battery; ValidationError names what is wrong."""
    with recorded(battery.vehicle, edit):
        put_battery(battery=battery, today=today)
    refresh_vehicles([battery.vehicle_id], today=today)
    return battery


def put_battery(*, battery: Battery, today: date) -> None:
    """The same without an entry, and without working out the car's dates: for a car that is new."""
    check(battery, _faults(battery, today))
    battery.save()


@transaction.atomic
def fit_battery(*, battery: Battery, edit: Edit, today: date) -> Battery:
    """Put a new battery in: the one that was in the car is taken out on the day this one is installed."""
    if battery.installed_on is None:
        raise ValidationError({"installed_on": "Say on which day the new battery was installed."})
    old = battery.vehicle.batteries.filter(removed_on__isnull=True).first()
    if old is not None and old.installed_on and old.installed_on > battery.installed_on:
        text = f"The battery before it was installed on {old.installed_on:%-d %b %Y}: check the day."
        raise ValidationError({"installed_on": text})
    with recorded(battery.vehicle, edit):
        if old is not None:
            old.removed_on = battery.installed_on
            old.save(update_fields=["removed_on"])
        put_battery(battery=battery, today=today)
    refresh_vehicles([battery.vehicle_id], today=today)
    return battery


def _faults(battery: Battery, today: date) -> Faults:
    faults = before(battery, "maintainer_since", "installed_on")
    faults |= before(battery, "removed_on", "installed_on")
    faults |= before(battery, "installed_on", "made_on")
    faults |= in_future(battery, DATES, today)
    faults |= unknown("chemistry", battery.chemistry, chemistries(), "chemistry")
    system = battery.vehicle.system_volts_known
    if battery.volts and system and battery.volts > system:
        faults["volts"] = f"The car has a {system} V system: a {battery.volts} V battery cannot be in it."
    return faults
