"""Readings that the demo's keepers take: plausible, with the scatter of real instruments.

These shape invented history only; no page computes with them.
"""

import random
from datetime import date

from collection.care.draft import Measured
from collection.demo.places import VALLEY
from collection.models import Battery, Building, Quantity, Shelter, TyrePosition

EMPTY_12_V, FULL_12_V = 11.9, 12.66  # rested volts of flooded lead-acid, about
AGM_EMPTY_12_V, AGM_FULL_12_V = 11.8, 12.82
LITHIUM_12_V = 13.2
LOSS_A_MONTH = {
    "flooded_antimony": 0.13,
    "low_antimony": 0.07,
    "hybrid": 0.045,
    "calcium": 0.025,
    "agm": 0.02,
    "gel": 0.02,
    "lifepo4": 0.02,
}
ROAD_TYRES = [position for position in TyrePosition if position != TyrePosition.SPARE]


def air_c(rng: random.Random, building: Building, day: date) -> float:
    """The keeper's thermometer in that building that day."""
    outside = VALLEY[day.month - 1][0] + rng.uniform(-3, 4)
    if building.shelter == Shelter.HUMIDITY_CONTROLLED:
        outside = max(outside, building.heated_to_c or 0)
    return round(outside, 0)


def state_of_charge(rng: random.Random, battery: Battery, days_since_charge: int) -> float:
    """Roughly what is left."""
    lost = LOSS_A_MONTH.get(battery.chemistry, 0.07) * days_since_charge / 30
    return max(0.15, 1 - lost - rng.uniform(0, 0.03))


def rested_volts(rng: random.Random, battery: Battery, charge: float, temperature_c: float) -> Measured:
    """A digital voltmeter after a day's rest."""
    if battery.chemistry == "lifepo4":
        volts = LITHIUM_12_V + 0.1 * charge
    elif battery.chemistry in ("agm", "gel"):
        volts = AGM_EMPTY_12_V + (AGM_FULL_12_V - AGM_EMPTY_12_V) * charge
    else:
        volts = EMPTY_12_V + (FULL_12_V - EMPTY_12_V) * charge
    volts *= (battery.volts or 12) / 12
    return Measured(
        Quantity.RESTED_VOLTS,
        round(volts + rng.uniform(-0.02, 0.02), 2),
        temperature_c=temperature_c,
        rest_hours=rng.choice((24.0, 36.0, 48.0)),
    )


def hydrometer(rng: random.Random, battery: Battery, charge: float, temperature_c: float) -> list[Measured]:
    """Every cell of a battery that can be opened."""
    cells = (battery.volts or 12) // 2
    return [
        Measured(
            Quantity.SPECIFIC_GRAVITY,
            round(1.12 + 0.145 * charge + rng.uniform(-0.005, 0.005), 3),
            position=str(cell),
            temperature_c=temperature_c,
        )
        for cell in range(1, cells + 1)
    ]


def tyre_pressures(
    rng: random.Random, placard_kpa: float, months: float, temperature_c: float
) -> list[Measured]:
    """Four tyres that have leaked about two per cent a month."""
    return [
        Measured(
            Quantity.TYRE_PRESSURE,
            round(placard_kpa * (1 - 0.02 * months) + rng.uniform(-8, 4)),
            position=position,
            temperature_c=temperature_c,
        )
        for position in ROAD_TYRES
    ]
