"""Cars as documents for the tests, and a maker of many different ones."""

import random
from datetime import date, timedelta

ON = date(2026, 12, 1)
CLIMATE = {
    "mean_c": [-2.0, -1.0, 3.0, 8.0, 13.0, 16.0, 18.0, 17.0, 13.0, 8.0, 3.0, -1.0],
    "low_c": [-6.0, -5.0, -1.0, 3.0, 8.0, 11.0, 13.0, 12.0, 9.0, 4.0, 0.0, -4.0],
    "high_c": [2.0, 4.0, 8.0, 13.0, 18.0, 21.0, 24.0, 23.0, 18.0, 12.0, 6.0, 2.0],
    "rh_pct": [88.0, 85.0, 79.0, 72.0, 70.0, 69.0, 70.0, 73.0, 79.0, 84.0, 88.0, 89.0],
}
BARN = {"shelter": "enclosed", "power": True, "extraction": True, "climate": CLIMATE}
GRADES = ["petrol_e0", "petrol_e10", "petrol_e85", "diesel_b7", "diesel_b20", "premix"]
YARD = {"shelter": "open", "power": False, "climate": CLIMATE}


def car(*facts, **more):
    """A car in a barn since some time, with more facts and other keys."""
    known = {"id": "A", "regime": "exercised", "places": {"barn": BARN}, "facts": list(facts)}
    return known | more


def duty_of(answer, code):
    return next(duty for duty in answer["duties"] if duty["duty"] == code)


def past_of(answer, code):
    return next(past for past in answer["past"] if past["duty"] == code)


def some_facts(chance):
    """Facts of a car that somebody cared for now and then."""

    def day():
        return (ON - timedelta(days=chance.randrange(0, 900))).isoformat()

    made = [
        lambda: {"kind": "stored"},
        lambda: {
            "kind": "moved",
            "place": chance.choice(["barn", "yard"]),
            "on_stands": chance.random() < 0.2,
        },
        lambda: {"kind": "moved"},
        lambda: {
            "kind": "battery_fitted",
            "chemistry": chance.choice(["flooded_antimony", "calcium", "agm", "lifepo4", "unknown"]),
            "capacity_ah": chance.choice([44, 60, 84.5]),
            "isolator": chance.random() < 0.3,
        },
        lambda: {"kind": "drain_measured", "milliamps": chance.choice([0, 20, 150])},
        lambda: {"kind": "maintainer", "fitted": chance.random() < 0.6},
        lambda: {"kind": "charge", "completed": chance.random() < 0.8},
        lambda: {
            "kind": "battery_reading",
            "rested_volts": round(chance.uniform(3.0, 12.8), 2),
            "rested_hours": 12,
        },
        lambda: {
            "kind": "battery_reading",
            "cell_gravities": [round(chance.uniform(1.1, 1.28), 3) for _ in range(6)],
        },
        lambda: {"kind": "run_up", "minutes": 40, "km": chance.choice([0, 35]), "reached_temperature": True},
        lambda: {"kind": "tyres_fitted", "date_code": "1019", "placard_kpa": {"front": 210.0}},
        lambda: {"kind": "tyre_pressures", "found_kpa": {"rear_left": chance.uniform(120, 230)}},
        lambda: {"kind": "fuel_added", "grade": chance.choice(GRADES), "litres": 20},
        lambda: {"kind": "stabiliser"},
        lambda: {"kind": "fuel_drained"},
        lambda: {"kind": "fluid_changed", "fluid": "coolant", "type": "eg_organic", "glycol_pct": 45},
        lambda: {"kind": "fluid_reading", "brake_water_pct": chance.uniform(0, 6)},
        lambda: {"kind": "inspected"},
        lambda: {"kind": "tag_opened", "tag": chance.choice(["drained", "danger"])},
        lambda: {"kind": "away"},
        lambda: {"kind": "back"},
    ]
    return [{"on": day(), **chance.choice(made)()} for _ in range(chance.randrange(0, 25))]


def some_cars(seed, count):
    """Cars unlike each other, each with its own record."""
    chance = random.Random(seed)  # noqa: S311 - of cars
    return [
        {
            "id": f"car {number}",
            "regime": chance.choice(["exercised", "preserved", "dormant"]),
            "built_on": "1990-03-01",
            "tank_litres": 55,
            "tank_material": chance.choice(["bare_steel", "coated_steel", "plastic", "grp"]),
            "tank_venting": chance.choice(["open", "capped", "sealed"]),
            "places": {"barn": BARN, "yard": YARD},
            "facts": some_facts(chance),
        }
        for number in range(count)
    ]
