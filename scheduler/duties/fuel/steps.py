"""The equations that limit one car's fuel, with its numbers put in."""

import numpy as np
import numpy.typing as npt

from scheduler.duties.crossings import total_at
from scheduler.duties.fuel.limits import (
    COLD,
    GLASS_FIBRE,
    LIGHT_ENDS,
    LIMITS,
    OXIDATION,
    SEASON,
    TWO_YEARS,
    WATER,
    floor_kpa,
)
from scheduler.duties.fuel.state import LIKELY, FuelNow, advance, life_days
from scheduler.duties.windows import Step
from scheduler.duties.words import counted_days, number, spoken
from scheduler.physics.fuel import cold_flow, water
from scheduler.physics.fuel import oxidation as fuel_oxidation
from scheduler.physics.fuel import vapour as fuel_vapour
from scheduler.vocabulary.units import DAYS_PER_MONTH

Floats = npt.NDArray[np.float64]
NEVER = "not before two years are over"


def oxidation_step(now: FuelNow, share: float, days: Floats, today: float) -> Step:
    """How much of the life is used, with the numbers put in; ``days`` (3,) reach ``share``."""
    state, tank, air = now.state, now.tanks, now.air
    first = float(air.first_day)
    ends = [total_at(air.ageing, tank.place, first, np.array([day]))[0] for day in (state.since[0], today)]
    aged, life = ends[1] - ends[0], life_days(state, tank)[LIKELY, 0]
    used = state.used[LIKELY, 0] + aged / life
    return Step(
        LIMITS[OXIDATION],
        "life used = used before + ∫ 2^((T − 20)/10) dt / L20",
        f"{state.used[LIKELY, 0]:.2f} + {counted_days(aged)} at 20 °C since {spoken(state.since[0])} / "
        f"{life:.0f} days ({life / DAYS_PER_MONTH:.1f} months) = {used:.2f}; "
        f"{share:g} on {spoken(days[LIKELY], NEVER)} ({spoken(days[2], NEVER)} to {spoken(days[0], NEVER)})",
    )


def limit_steps(now: FuelNow, days: Floats, today: float) -> tuple[Step, ...]:
    """Each limit in turn with one car's numbers put in; ``days`` (limits, 3, 1) as its outlook has them."""
    steps = [oxidation_step(now, 1.0, days[OXIDATION, :, 0], today), _water_step(now, days, today)]
    if now.tanks.diesel[0]:
        steps.append(_cold_step(now, days, today))
    else:
        steps.append(_light_step(now, days, today))
    if not np.isnan(days[SEASON, LIKELY, 0]):
        winter = spoken(days[SEASON, LIKELY, 0])
        steps.append(Step(LIMITS[SEASON], "first day of the colder half-year", winter))
    if not np.isnan(days[GLASS_FIBRE, LIKELY, 0]):
        worked = f"{100 * now.state.bio[0]:.0f} % ethanol"
        steps.append(Step(LIMITS[GLASS_FIBRE], "no ethanol in glass-fibre resin", worked))
    cap = fuel_oxidation.CALENDAR_CAP_MONTHS.value
    steps.append(Step(LIMITS[TWO_YEARS], f"filled + {cap:.0f} months", spoken(days[TWO_YEARS, LIKELY, 0])))
    return tuple(steps)


def _light_step(now: FuelNow, days: Floats, today: float) -> Step:
    state, tank = now.state, now.tanks
    later = advance(state, tank, now.air, np.maximum(state.since, today))
    empty = max(tank.litres[0] - state.litres[0], 0.0)
    return Step(
        LIMITS[LIGHT_ENDS],
        "daily loss = V_u K_E Pv M/(R T); 1.6 to 2.2 kPa off for each mass per cent",
        f"{empty:.0f} L empty over {state.litres[0]:.0f} L of fuel: {state.reid_kpa[LIKELY, 0]:.0f} kPa on "
        f"{spoken(state.since[0])}, {later.reid_kpa[LIKELY, 0]:.0f} kPa today, "
        f"floor of {floor_kpa(state)[0]:.0f} kPa: {spoken(days[LIGHT_ENDS, LIKELY, 0], NEVER)}"
        f"{_hard_starts(now, float(later.reid_kpa[LIKELY, 0]), today)}",
    )


def _water_step(now: FuelNow, days: Floats, today: float) -> Step:
    state, tank = now.state, now.tanks
    later = advance(state, tank, now.air, np.maximum(state.since, today))
    per_cent = later.water_g[LIKELY, 0] / state.litres[0] / water.WATER_DENSITY_G_L.value * 100.0
    return Step(
        LIMITS[WATER],
        "w(E, T) = 0.0195 + (0.30 + 0.0072 (T + 12.2) − 0.0195)(E/10)^1.85"
        if not tank.diesel[0]
        else f"water ≤ {water.DIESEL_LIMIT_MG_KG.value:.0f} mg/kg",
        f"about {later.water_g[LIKELY, 0]:.1f} g ({per_cent:.3f} vol %) today at {100 * state.bio[0]:.0f} % "
        f"{'FAME' if tank.diesel[0] else 'ethanol'}; limit: {spoken(days[WATER, LIKELY, 0], NEVER)}",
    )


def _hard_starts(now: FuelNow, reid_kpa: float, today: float) -> str:
    """A warning for winter, where petrol is below what winter grades hold at least."""
    winter = now.air.winter[now.tanks.place[0], now.air.index(np.array([today]))[0]]
    wanted = fuel_vapour.WINTER_FLOOR_KPA.value
    return f"; below {wanted:.0f} kPa expect hard cold starts" if winter and reid_kpa < wanted else ""


def _cold_step(now: FuelNow, days: Floats, today: float) -> Step:
    plugging = float(now.state.plugs_c[LIKELY, 0])
    start, stop = now.air.index(np.array([now.state.since[0], today]))
    coldest = float(now.air.coldest_between(LIKELY, now.tanks.place, start, stop)[0])
    state = int(cold_flow.verdict(coldest, plugging))
    dosed = " with its additive" if now.state.winterised[0] else ""
    return Step(
        LIMITS[COLD],
        "T_min < cold filter plugging point",
        f"diesel that plugs at {number(plugging)} °C{dosed}: {spoken(days[COLD, LIKELY, 0], NEVER)}; "
        f"in the coldest so far, {number(coldest)} °C, it {cold_flow.VERDICTS[state]}",
    )
