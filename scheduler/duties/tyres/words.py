"""The reason for a tyre's date, in words."""

import numpy as np

from scheduler.duties.conditions import UNKNOWN, Fleet
from scheduler.duties.policy import Policy
from scheduler.duties.tyres.course import Course
from scheduler.duties.windows import DutyWindow, Explanation, Input, Source, Step
from scheduler.duties.words import cited, known_day, number, spoken
from scheduler.physics.tyres.tyres import (
    GAUGE_OFFSET_SHARE,
    LEAK_FAULT_PER_MONTH,
    LEAK_PER_10_K,
    LEAK_PER_MONTH,
    OLD_LEAK_PER_MONTH,
    OLD_YEARS,
    TYRE_PLACES,
)
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.units import DAYS_PER_MONTH

GAS_LAW = "ideal gas at constant volume, absolute temperature and pressure"


def _per_month_pct(leak: float) -> float:
    return float(-100 * np.expm1(-leak * DAYS_PER_MONTH))


def _table(tyres: Course) -> Constant:
    return OLD_LEAK_PER_MONTH if tyres.old[0] else LEAK_PER_MONTH


def _sort(tyres: Course) -> str:
    return f"tyres over {number(OLD_YEARS)} years old" if tyres.old[0] else "tyres at large"


def _tyre_name(place: int) -> str:
    number_on_car = place + UNKNOWN
    if number_on_car == UNKNOWN:
        return "All tyres"
    known = number_on_car < len(TYRE_PLACES)
    return f"{TYRE_PLACES[number_on_car].capitalize()} tyre" if known else f"Tyre {number_on_car + 1}"


def explanation(fleet: Fleet, tyres: Course, first: int, due: DutyWindow, policy: Policy) -> Explanation:
    """Why one car's tyres are due: the tyre that is down first, its leak, the limit."""
    read = not tyres.unread[0]
    start, leak = float(tyres.line.kpa[0, first]), float(tyres.line.leak[1, 0, first])
    placard, on = float(tyres.placard_kpa[0]), float(tyres.line.day[0, first])
    limit, learned = placard * (1 - policy.tyre_drop_share), tyres.line.used[0, first] > 0
    summary = (
        f"{_tyre_name(first)}: losing about {number(_per_month_pct(leak), 1)} % a month at 20 °C, from "
        f"{number(start)} kPa on {spoken(on)} down to {number(limit)} kPa on {spoken(due.due[0])}."
    )
    if learned and _per_month_pct(leak) >= 100 * LEAK_FAULT_PER_MONTH.value:
        summary += " That is a leak: look for a nail, at the valve and at the bead."
    if tyres.unknown[0]:
        summary = "No pressure is recorded, nor since when the car stands: gauge the tyres today."
    inputs = (
        Input("pressure at 20 °C", start, "kPa", "reading" if read else "assumed", known_day(on)),
        Input("placard", placard, "kPa", "assumed" if np.isnan(fleet.placard_kpa[0]) else "record"),
        Input("leak at 20 °C", _per_month_pct(leak), "% a month", "learned" if learned else "assumed"),
        Input("pump up at", 100 * policy.tyre_drop_share, "% below placard", "policy"),
    )
    return Explanation(
        summary,
        inputs,
        _steps(start, limit, leak),
        _sources(tyres),
        _assumptions(fleet, tyres, read),
        _learning(tyres, first),
    )


def _steps(start: float, limit: float, leak: float) -> tuple[Step, ...]:
    days = np.log(max(start / limit, 1.0)) / leak
    worked = f"ln({number(start, 1)} / {number(limit, 1)}) / {number(leak, 6)} = {number(days)} days at 20 °C"
    speed = f"a day at T °C counts {number(LEAK_PER_10_K.value, 2)}^((T − 20) / 10) days"
    gas_law = "p₂ = (p₁ + 101.3) × 293.15 / T₁ − 101.3"
    return (
        Step("Reading brought to 20 °C", gas_law, f"{number(start, 1)} kPa"),
        Step("Days of leak at 20 °C", "ln(p / limit) / k", worked),
        Step("The place's own warmth", "D = ∫ q^((T − 20) / 10) dt", speed),
    )


def _sources(tyres: Course) -> tuple[Source, ...]:
    return (
        cited(_table(tyres)),
        cited(GAUGE_OFFSET_SHARE),
        cited(LEAK_PER_10_K),
        Source(GAS_LAW, Standing.PUBLISHED),
    )


def _assumptions(fleet: Fleet, tyres: Course, read: bool) -> tuple[str, ...]:
    texts = []
    if np.isnan(fleet.placard_kpa[0]):
        basis = "the highest last reading" if read else f"{number(tyres.placard_kpa[0])} kPa"
        texts.append(f"The placard pressure is not recorded: taken as {basis}.")
    if tyres.unknown[0]:
        texts.append("No pressure is recorded and no date to reckon from.")
    elif not read:
        texts.append(f"No pressure is recorded: taken as at placard on {spoken(tyres.line.day[0, 0])}.")
    if tyres.read.temperature_assumed:
        count = tyres.read.temperature_assumed
        texts.append(f"{count} reading(s) without a temperature: the day's mean is taken.")
    if tyres.read.refused:
        texts.append(f"{tyres.read.refused} reading(s) that no car tyre shows were not used.")
    if not tyres.line.used.any():
        low, likely, high = (number(_per_month_pct(leak), 1) for leak in tyres.line.leak[:, 0, 0])
        texts.append(f"The leak is that of {_sort(tyres)}: {likely} % a month ({low} to {high}).")
    return tuple(texts)


def _learning(tyres: Course, first: int) -> tuple[str, ...]:
    used = int(tyres.line.used[0, first])
    assumed = ", ".join(number(100 * share, 1) for share in _table(tyres).range)
    learned = ", ".join(number(_per_month_pct(leak), 1) for leak in tyres.line.leak[:, 0, first])
    texts: tuple[str, ...] = (f"Assumed leak: {assumed} % a month (low, likely, high).",)
    if used:
        texts += (f"Learned from this tyre: {learned} % a month.",)
    return (*texts, f"Readings used: {used}.")
