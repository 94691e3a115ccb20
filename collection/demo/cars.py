"""The demo's cars as records: what the barn wrote down when each arrived."""

from datetime import date, timedelta

from collection.demo.tables import CarLine, ago, date_code, months_before, number
from collection.models import (
    Basis,
    Battery,
    Bay,
    Fluid,
    Fuel,
    LastEvent,
    LastUse,
    Organisation,
    Owner,
    Tyre,
    TyrePosition,
    Vehicle,
)
from scheduler.vocabulary.fluids import FLUIDS

LOG_DAYS = 730  # the care log reaches back two years
BIO_PCT = {"petrol_e0": 0, "petrol_e5": 5, "petrol_e10": 10, "diesel_b7": 7}


def add_car(
    line: CarLine, organisation: Organisation, owners: dict[str, Owner], bay: Bay, today: date
) -> Vehicle:
    """The car with battery, fuel, fluids, tyres and last uses as first written down."""
    car = Vehicle.objects.create(
        organisation=organisation,
        owner=owners[line.car["owner"]],
        bay=bay,
        stored_since=_stored_since(line, today),
        **_facts(line.car),
    )
    if line.kit:
        _add_battery(line, car, today)
        _add_fuel(line, car)
        _add_fluids(line, car, today)
        _add_tyres(line, car, today)
        _add_last_uses(car, _stored_since(line, today))
    return car


OLD_ENOUGH = 1966  # cars of before it have a dynamo and positive earth here


def log_begins(car: Vehicle, today: date) -> date:
    """The first day of the car's care log in this barn."""
    stored = car.stored_since or today
    return max(stored, today - timedelta(days=LOG_DAYS))


def _stored_since(line: CarLine, today: date) -> date:
    return today - timedelta(days=line.days("stored_days_ago"))


def _facts(row: dict[str, str]) -> dict[str, object]:
    same = (
        "marque",
        "model",
        "body",
        "registration",
        "chassis_number",
        "engine",
        "fuel_system",
        "tank_material",
        "tank_venting",
    )
    facts: dict[str, object] = {name: row[name] for name in same}
    facts["regime"] = row["regime"]
    facts["year"] = int(row["year"])
    if row["regime"] != "dormant":  # of that nobody has looked
        facts |= _built_with(int(row["year"]), row["fuel_system"])
    facts["tank_litres"] = number(row["tank_litres"])
    facts["system_volts"] = int(row["system_volts"]) if row["system_volts"] else None
    facts["on_stands"] = row["regime"] == "preserved"
    return facts


def _built_with(year: int, fuel_system: str) -> dict[str, object]:
    """What this barn wrote down of how its cars are built; of younger ones nobody has looked."""
    if year >= OLD_ENOUGH:
        return {}
    facts: dict[str, object] = {"earth": "positive", "generator": "dynamo", "gearbox": "manual"}
    return facts | ({"ignition": "points"} if fuel_system == "carburettor" else {})


def _add_battery(line: CarLine, car: Vehicle, today: date) -> None:
    kit = line.kit
    installed = ago(today, kit["battery_months"])
    kind = {
        "chemistry": kit["chemistry"],
        "capacity_ah": number(kit["capacity_ah"]),
        "volts": car.system_volts,
    }
    if installed and installed > log_begins(car, today):
        Battery.objects.create(vehicle=car, removed_on=installed, **kind)
    Battery.objects.create(
        vehicle=car,
        installed_on=installed,
        drain_ma=number(kit["drain_ma"]),
        made_on=months_before(installed, 3) if installed else None,
        isolated=car.regime == "preserved",
        **kind,
    )


def _add_fuel(line: CarLine, car: Vehicle) -> None:
    filled = car.stored_since - timedelta(days=12) if car.stored_since else None
    Fuel.objects.create(
        vehicle=car,
        grade=line.kit["fuel"],
        bio_pct=BIO_PCT.get(line.kit["fuel"]),
        litres=round(float(line.kit["filled"]) * (car.tank_litres or 0), 1),
        filled_on=filled,
        as_of=car.stored_since,
    )


def _add_fluids(line: CarLine, car: Vehicle, today: date) -> None:
    Fluid.objects.bulk_create(
        Fluid(
            vehicle=car,
            kind=fluid.code,
            type=type_,
            changed_on=ago(today, line.kit.get(f"{fluid.code}_months", "")),
            glycol_pct=50 if type_.startswith(("eg_", "pg_")) else None,
        )
        for fluid in FLUIDS
        if (type_ := line.kit.get(fluid.code))
    )


def _add_tyres(line: CarLine, car: Vehicle, today: date) -> None:
    code, placard = date_code(today, line.kit["tyre_years"]), number(line.kit["placard_kpa"])
    road = [position for position in TyrePosition if position != TyrePosition.SPARE]
    Tyre.objects.bulk_create(
        Tyre(vehicle=car, position=position, date_code=code, placard_kpa=placard) for position in road
    )


def _add_last_uses(car: Vehicle, came: date) -> None:
    """The owner drove it in: road use, start, warm run and move are one day, by the owner's word."""
    bases = dict.fromkeys(LastEvent, Basis.OWNER) | {LastEvent.ATTENDED: Basis.DOCUMENT}
    LastUse.objects.bulk_create(
        LastUse(vehicle=car, event=event, on=came, basis=basis) for event, basis in bases.items()
    )
