"""What the demo's keepers decided in place of what is worked out."""

from collections.abc import Mapping
from datetime import date, datetime, timedelta

from collection.care.actions.record import Edit
from collection.cars.actions.rules import save_car_rule, save_kind_rule
from collection.models import CarRule, KindRule, Organisation, Person, Vehicle


def add_rules(
    organisation: Organisation, cars: Mapping[str, Vehicle], manager: Person, now: datetime, today: date
) -> None:
    """A handbook's interval for a make, one car that waits for a part, one that is never run."""
    edit = Edit(manager, now)
    handbook = KindRule(
        organisation=organisation,
        duty="brake_fluid",
        marque="Mirefleet",
        interval="18 months",
        reason="handbook of the make: 18 months",
    )
    save_kind_rule(rule=handbook, edit=edit, today=today)
    waits = CarRule(
        vehicle=cars["KM 1034"],
        duty="coolant",
        put_off_until=today + timedelta(days=40),
        put_off_reason="radiator away for repair",
    )
    quarterly = CarRule(
        vehicle=cars["KM 1026"],
        duty="tyre_move",
        interval="3 months",
        reason="cross-ply set, moved once a quarter",
    )
    for rule in (waits, quarterly):
        save_car_rule(rule=rule, edit=edit, today=today)
