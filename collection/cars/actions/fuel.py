"""Writing down what is in the tank."""

from datetime import date

from django.db import transaction

from collection.care.actions.record import Edit, recorded
from collection.life.core.choices import fuel_grades
from collection.life.refresh import refresh_vehicles
from collection.models import Fuel
from collection.web.faults import Faults, check, in_future, unknown


@transaction.atomic
def save_fuel(*, fuel: Fuel, edit: Edit, today: date) -> Fuel:
    """Save the fuel as found; ValidationError names what is wrong, litres above the tank among it."""
    with recorded(fuel.vehicle, edit):
        put_fuel(fuel=fuel, today=today)
    refresh_vehicles([fuel.vehicle_id], today=today)
    return fuel


def put_fuel(*, fuel: Fuel, today: date) -> None:
    """The same without an entry, and without working out the car's dates: for a car that is new."""
    fuel.as_of = fuel.as_of or today
    check(fuel, _faults(fuel, today))
    fuel.save()


def _faults(fuel: Fuel, today: date) -> Faults:
    faults = {}
    if fuel.as_of:
        late = [
            name
            for name in ("filled_on", "stabilised_on")
            if (day := getattr(fuel, name)) and day > fuel.as_of
        ]
        faults = dict.fromkeys(late, "This is after the day the fuel was found so: check both dates.")
    faults |= in_future(fuel, ("as_of", "filled_on", "stabilised_on"), today)
    faults |= unknown("grade", fuel.grade, fuel_grades(), "fuel grade")
    tank = fuel.vehicle.tank_litres
    if fuel.litres is not None and tank is not None and fuel.litres > tank:
        faults["litres"] = (
            f"The tank holds {tank:g} litres: give no more than that, or correct the tank's size."
        )
    return faults
