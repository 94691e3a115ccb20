"""Fuels: how long each keeps at 20 °C by venting, how volatile it is, what it burns to.

Lives are months at 20 °C, low to high. One published pair (6 months at 20 °C, 3 at 30 °C) and one
published month in a vented equipment tank stand behind the petrol rows; no source gives the life
of ethanol-free petrol against E5 separately, so they share it. A grade is added by one row.
"""

from dataclasses import dataclass

import numpy as np

from scheduler.vocabulary.constants import Constant, Standing

BP_SHEET = "BP Australia, fact sheet 'A guide to storing fuel'"
BP_DIESEL = "BP Australia ADF1402, 7 Feb 2002: 12 months or more at 20 °C"
CZECH_E10 = "Czech Television, Nov 2023, citing the petroleum industry: E10 usable for 3 months"
EN228 = "EN 228 classes A and D (French Arrêté of 26 Jan 2009, Annex II)"
E85_SPEC = "ASTM D5798-15 classes via US DOE AFDC, E85 specification"
COMBUSTION = "combustion stoichiometry"
CHEVRON_OIL = "Chevron, Recommended Storage Practices: oil does not change petrol's stability"

PETROL, DIESEL = "petrol", "diesel"


def _life(
    months: float, low: float, high: float, source: str, standing: Standing = Standing.POLICY
) -> Constant:
    return Constant(months, "months at 20 °C", source, standing, low, high)


_OPEN = _life(2, 1, 3, f"{BP_SHEET}: 1 month in a vented equipment tank; 3 allowed for a car's")
_CAPPED = _life(3, 2, 6, f"between {BP_SHEET}: 1 month vented, and 6 months closed")
_SEALED = _life(6, 3, 12, f"{BP_SHEET}: opened container 6 months, unopened 12", Standing.PUBLISHED)
_SEALED_E10 = _life(6, 3, 9, f"{BP_SHEET}: 6 months; low by {CZECH_E10}")

_SUMMER = Constant(60.0, "kPa", f"{EN228}: 45 to 60 in summer", Standing.PUBLISHED, 52.0, 60.0)
_WINTER = Constant(75.0, "kPa", f"{EN228}: 60 to 90 in winter, its middle", Standing.PUBLISHED, 60.0, 90.0)
_E85_SUMMER = Constant(50.0, "kPa", f"{E85_SPEC}: class 1, 38 to 62", Standing.PUBLISHED, 38.0, 62.0)
_E85_WINTER = Constant(75.0, "kPa", f"{E85_SPEC}: class 3, 59 to 83", Standing.PUBLISHED, 59.0, 83.0)
_PETROL_SWELL = Constant(0.00095, "1/K", "KU Leuven, expansion of petrol", Standing.PUBLISHED)
_DIESEL_SWELL = Constant(0.00083, "1/K", "Chevron, 0.00046 per °F, second-hand", Standing.COMMON_PRACTICE)


def _share(value: float, low: float, high: float, source: str) -> Constant:
    return Constant(value, "of the volume", source, Standing.PUBLISHED, low, high)


def _water(kg_per_l: float) -> Constant:
    return Constant(kg_per_l, "kg/L burnt", COMBUSTION, Standing.COMPUTED)


@dataclass(frozen=True, slots=True)
class Fuel:
    """One grade: its lives by venting (open, capped, sealed), volatility, blend and combustion.

    ``summer_kpa`` and ``winter_kpa`` are Reid pressures at filling, None for diesel.
    """

    name: str
    label: str
    family: str
    bio_share: Constant
    life_open: Constant
    life_capped: Constant
    life_sealed: Constant
    summer_kpa: Constant | None
    winter_kpa: Constant | None
    density_kg_l: float
    expansion_per_k: Constant
    water_kg_per_l: Constant


def _petrol(
    name: str,
    label: str,
    bio: Constant,
    water: float,
    sealed: Constant = _SEALED,
    summer: Constant = _SUMMER,
    winter: Constant = _WINTER,
) -> Fuel:
    return Fuel(
        name,
        label,
        PETROL,
        bio,
        _OPEN,
        _CAPPED,
        sealed,
        summer,
        winter,
        0.745,
        _PETROL_SWELL,
        _water(water),
    )


def _diesel(name: str, label: str, bio: Constant, life: Constant) -> Fuel:
    return Fuel(
        name,
        label,
        DIESEL,
        bio,
        life,
        life,
        life,
        None,
        None,
        0.840,
        _DIESEL_SWELL,
        _water(0.99),
    )


FUELS: tuple[Fuel, ...] = (
    _petrol("petrol_e0", "petrol without ethanol (E0)", _share(0, 0, 0, "by its name"), 0.895),
    _petrol("petrol_e5", "petrol E5", _share(0.05, 0, 0.05, "EN 228 E5, at most"), 0.897),
    _petrol(
        "petrol_e10",
        "petrol E10",
        _share(0.10, 0.05, 0.10, "EN 228 E10, at most"),
        0.898,
        _SEALED_E10,
    ),
    _petrol(
        "petrol_e85",
        "E85",
        _share(0.70, 0.51, 0.83, E85_SPEC),
        0.926,
        _SEALED_E10,
        _E85_SUMMER,
        _E85_WINTER,
    ),
    _petrol("petrol", "petrol, grade unknown", _share(0.05, 0, 0.10, "E0 to E10"), 0.897, _SEALED_E10),
    _diesel(
        "diesel_b0",
        "diesel without FAME (B0)",
        _share(0, 0, 0, "by its name"),
        _life(12, 9, 24, BP_DIESEL, Standing.PUBLISHED),
    ),
    _diesel(
        "diesel_b7",
        "diesel B7",
        _share(0.07, 0, 0.07, "EN 590, at most"),
        _life(9, 6, 12, f"shorter than {BP_DIESEL}, for its FAME"),
    ),
    _diesel(
        "diesel_b20",
        "diesel B20",
        _share(0.20, 0.06, 0.20, "ASTM D7467, B6 to B20"),
        _life(6, 2, 12, "SAE 2016-01-0885: B20 tested in parked cars for 2 to 6 months"),
    ),
    _petrol(
        "premix",
        "two-stroke premix",
        _share(0.05, 0, 0.10, f"the petrol in it; {CHEVRON_OIL}"),
        0.897,
        _SEALED_E10,
    ),
    _petrol(
        "unknown",
        "fuel unknown",
        _share(0.05, 0, 0.10, "taken as petrol, which spoils first"),
        0.897,
        _SEALED_E10,
    ),
)

UNKNOWN_FUEL = len(FUELS) - 1
CODES = {fuel.name: code for code, fuel in enumerate(FUELS)}
IS_DIESEL = np.array([fuel.family == DIESEL for fuel in FUELS])
