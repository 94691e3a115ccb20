"""What a reading means where it is taken, and what to do next: bands of each quantity, for one car and day.

A band runs from its least value up to the next band's. Volts and hydrometer bands are the charges of the
thresholds turned into what a meter shows at that car's chemistry and the day's air (``charge_state``); tyres
are shares of their placard; a loss is what the last reading leads one to expect, less what tyres lose by
themselves. Sources stand with the thresholds (``policy.py``) and the tables that are used.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf

import numpy as np

from scheduler.duties.battery.charge.evidence import air_at
from scheduler.duties.battery.charge.holds import CUT_OFF, HOLDS, UNSOUND
from scheduler.duties.battery.charge.pack import nominal_volts
from scheduler.duties.conditions import READING_KINDS, Fleet
from scheduler.duties.fluids import kinds
from scheduler.duties.policy import Policy
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.battery.charge_state import (
    CELL_MOST_V,
    CELLS_OF_12V,
    LITHIUM_CELL_LEAST_V,
    NOMINAL_V,
    REST_GOOD_H,
    SOUND_CELL_LEAST_V,
    rested_volts,
)
from scheduler.physics.climate import coldest
from scheduler.physics.fluids.brake_fluid import GOOD_WATER_PCT, boiling_point_c, depression_k
from scheduler.physics.fluids.coolant import GOOD_PH, SPENT_PH
from scheduler.physics.fluids.fluids import FLUID_KINDS
from scheduler.physics.materials import at
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.units import DAYS_PER_YEAR

FULL_SOC = 0.95  # policy: above it nobody charges
NEARLY_FLAT_SOC = 0.20  # policy
ROLLS_FROM = Constant(
    0.5, "of the placard", "below it a car is not rolled: bead and side walls", Standing.COMMON_PRACTICE
)
ABOVE_FOR_STANDING = Constant(
    1.25, "times the placard", "blown up for standing; let down before the road", Standing.COMMON_PRACTICE
)
LEAK_A_MONTH = Constant(
    0.10, "of its pressure", "more a month than rubber and valves let through", Standing.COMMON_PRACTICE
)
DAYS_A_MONTH = DAYS_PER_YEAR / 12.0
LEAK_SEEN_AFTER_DAYS = 3.0  # policy: before, the gauge's own error is greater
LIKELY = 1  # of low, likely, high


@dataclass(frozen=True, slots=True)
class Band:
    """One answer: ``least`` in the unit that the quantity is stored in, ``care`` the kind that follows."""

    least: float
    text: str
    grade: str  # good, watch, stop
    care: str = ""


Bands = tuple[Band, ...]


def bands(fleet: Fleet, row: int, today: float, policy: Policy) -> dict[str, Bands]:
    """By quantity the bands of the car in one row of the fleet, the highest first, on an ordinal day.

    A quantity of which nothing can be told is left out. A position has the name of its quantity, with
    ``_`` and its number where its own last reading counts.
    """
    made: dict[str, Iterator[Band]] = {
        "rested_volts": _volts(fleet, row, today, policy),
        "brake_water": _brake_water(policy),
        "surface_rh": _humidity(policy),
        "coolant_freeze_point": _coolant(fleet, row, today, policy),
        "brake_boiling_point": _boiling(fleet, row, policy),
        "coolant_ph": _test_strip(),
    }
    return {name: tuple(each) for name, each in made.items()} | _tyres(fleet, row, today, policy)


def _volts(fleet: Fleet, row: int, today: float, policy: Policy) -> Iterator[Band]:
    code = int(fleet.chemistry[row])
    nominal = float(nominal_volts(fleet)[row])
    cells = CELLS_OF_12V * nominal / NOMINAL_V
    yield Band(
        CELL_MOST_V.value * cells,
        f"Still on charge, or just off it. Let it rest {REST_GOOD_H.value:.0f} hours and read again.",
        "watch",
    )
    if code >= 0 and not BATTERIES[code].lead:
        least = LITHIUM_CELL_LEAST_V.value * BATTERIES[code].cells_of_12v * nominal / NOMINAL_V
        yield Band(
            least, "Volts of this kind tell little of its charge; it may be charged above freezing.", "good"
        )
        yield Band(-inf, _sentence(HOLDS[CUT_OFF]), "stop", "inspected")
        return
    air = float(air_at(fleet, np.array([row]), np.array([today]))[0])
    at_charge = {
        soc: float(rested_volts(soc, air, max(code, 0), nominal))
        for soc in (FULL_SOC, policy.recharge_soc, policy.sulphation_soc, NEARLY_FLAT_SOC, 0.0)
    }
    for soc, text, grade in (
        (FULL_SOC, "Full.", "good"),
        (policy.recharge_soc, f"Above {policy.recharge_soc:.0%}: no charge needed yet.", "good"),
        (policy.sulphation_soc, f"Below {policy.recharge_soc:.0%}: charge it this week.", "watch"),
        (NEARLY_FLAT_SOC, "About half or less: charge it today. Sulphate hardens while it waits.", "watch"),
        (0.0, "Nearly flat: charge it today, slowly. Then look for what draws on it.", "watch"),
    ):
        yield Band(at_charge[soc], text, grade, "" if grade == "good" else "charge")
    yield Band(
        SOUND_CELL_LEAST_V.value * cells,
        "Flat and beyond: a slow recovery charge may not bring it back. Look for what draws on it.",
        "stop",
        "charge",
    )
    yield Band(-inf, _sentence(HOLDS[UNSOUND]), "stop", "inspected")


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."


def _brake_water(policy: Policy) -> Iterator[Band]:
    limit = policy.brake_water_pct
    yield Band(
        limit, "Change the brake fluid before the car is driven: water in it boils.", "stop", "fluid_changed"
    )
    yield Band(limit / 2.0, "Taking on water: plan its change.", "watch", "fluid_changed")
    yield Band(-inf, "Dry enough.", "good")


def _boiling(fleet: Fleet, row: int, policy: Policy) -> Iterator[Band]:
    """By the water that it tells of in this grade; of silicone nothing can be told."""
    code = kinds(fleet, "brake_fluid")[[row]]
    if not at(FLUID_KINDS, code, "takes_water")[0]:
        return
    dry, wet = (float(at(FLUID_KINDS, code, name)[1, 0]) for name in ("dry_boil_c", "wet_boil_c"))
    fall = float(depression_k(dry, wet))
    good, least = (
        float(boiling_point_c(pct, dry, fall)) for pct in (GOOD_WATER_PCT.value, policy.brake_water_pct)
    )
    yield Band(max(good, least), "Dry enough.", "good")
    yield Band(least, "Taking on water: plan its change.", "watch", "fluid_changed")
    yield Band(
        -inf, "Change the brake fluid before the car is driven: it boils too soon.", "stop", "fluid_changed"
    )


def _test_strip() -> Iterator[Band]:
    yield Band(GOOD_PH.value, "The inhibitor still works.", "good")
    yield Band(SPENT_PH.value, "The inhibitor is nearly used up: plan the change.", "watch", "fluid_changed")
    yield Band(-inf, "Turned acid: it eats the metal. Change the coolant.", "stop", "fluid_changed")


def _humidity(policy: Policy) -> Iterator[Band]:
    yield Band(policy.damp_rh_pct, "Damp: steel rusts and mould grows. Air it or dry it.", "watch")
    yield Band(-inf, "Dry enough.", "good")


def _coolant(fleet: Fleet, row: int, today: float, policy: Policy) -> Iterator[Band]:
    place = fleet.places[int(fleet.place[row])]
    start = min(max(int(today) - place.first_day, 0), place.days - 1)
    cold = float(coldest(place, policy.cold_spell_k)[start : start + round(DAYS_PER_YEAR)].min())
    if cold > 0.0:
        yield Band(-inf, "No frost is expected where it stands.", "good")
        return
    yield Band(
        cold,
        f"Nights here may reach {cold:.0f} °C: it would freeze. Strengthen it now.",
        "stop",
        "fluid_changed",
    )
    yield Band(
        cold - policy.coolant_margin_k,
        f"Little margin: nights here may reach {cold:.0f} °C. Strengthen it.",
        "watch",
        "fluid_changed",
    )
    yield Band(-inf, "Enough for the coldest night to be expected.", "good")


def _tyres(fleet: Fleet, row: int, today: float, policy: Policy) -> dict[str, Bands]:
    """Bands by the placard; a tyre with a reading of its own has a band for what it should not have lost."""
    placard = float(fleet.placard_kpa[row])
    if not placard > 0.0:
        return {}
    usual = (
        Band(
            ABOVE_FOR_STANDING.value * placard, "Blown up for standing: let it down before the road.", "watch"
        ),
        Band((1.0 - policy.tyre_drop_share) * placard, "As it should be.", "good"),
        Band((1.0 - policy.tyre_late_drop_share) * placard, "Low: inflate it.", "watch", "tyre_pressures"),
        Band(ROLLS_FROM.value * placard, "Too low to drive on: inflate it first.", "stop", "tyre_pressures"),
        Band(
            -inf,
            "Do not move it. Inflate it where it stands, then look for the leak.",
            "stop",
            "tyre_pressures",
        ),
    )
    table, kind = fleet.readings, READING_KINDS.index("tyre_pressure")
    own = np.flatnonzero((table.row == row) & (table.kind == kind) & (table.day < today))
    newest = {int(table.position[at]): at for at in own[np.argsort(table.day[own], kind="stable")]}
    made: dict[str, Bands] = {"tyre_pressure": usual}
    for position, latest in newest.items():
        days = today - float(table.day[latest])
        if days >= LEAK_SEEN_AFTER_DAYS:
            kept = float(table.value[latest]) * (1.0 - LEAK_A_MONTH.value * days / DAYS_A_MONTH)
            made[f"tyre_pressure_{position}"] = _with_leak(usual, kept, days)
    return made


def _with_leak(usual: Bands, kept: float, days: float) -> Bands:
    """The same bands, below ``kept`` with word of the leak."""
    leaks = f" It lost more in {days:.0f} days than tyres do: look for a leak."
    split: list[Band] = []
    for above, band in zip((inf, *(one.least for one in usual)), usual, strict=False):
        if band.least < kept < above:
            split += [Band(kept, band.text, band.grade, band.care)]
        leaky = band.least < kept
        grade = "watch" if leaky and band.grade == "good" else band.grade
        split.append(
            Band(
                band.least,
                band.text + leaks if leaky else band.text,
                grade,
                band.care or ("tyre_pressures" if leaky else ""),
            )
        )
    return tuple(split)


def answer(of: Bands, value: float) -> Band:
    """The band in which a value lies.

    >>> answer((Band(12.0, "full", "good"), Band(-inf, "flat", "stop")), 11.9).text
    'flat'
    """
    return next(band for band in of if value >= band.least)
