"""When each thing that spoils fuel reaches its limit, for every tank at once.

Seven limits, each with three days: by low, likely and high decay. NaN: not before two years are over.
"""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from scheduler.duties.crossings import reach_each, total_at
from scheduler.duties.fuel.air import REFERENCE_KPA
from scheduler.duties.fuel.state import (
    BLOCK,
    CASES,
    LIKELY,
    SUMMER_SHARE,
    FuelNow,
    FuelState,
    life_days,
    loss_rows,
    tolerance_g,
    ullage_ratio,
    water_paths,
)
from scheduler.duties.windows import Day
from scheduler.physics.fuel import oxidation as fuel_oxidation
from scheduler.physics.fuel import vapour as fuel_vapour
from scheduler.physics.fuel import water
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.units import DAYS_PER_MONTH

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

# The gravest first: it is named where two come on one day.
LIMITS = (
    "water dropping out",
    "gum from oxidation",
    "lighter parts lost",
    "waxing in the cold",
    "two years old",
    "summer E85 carried into winter",
    "ethanol in a glass-fibre tank",
)
WATER, OXIDATION, LIGHT_ENDS, COLD, TWO_YEARS, SEASON, GLASS_FIBRE = range(len(LIMITS))
ETHANOL_ATTACK = Constant(
    0.0,
    "of the volume",
    "CONCAWE report 3/08 as quoted by the FBHVC: glass-fibre polyester and epoxy do not bear ethanol petrol",
    Standing.PUBLISHED,
)
E85_FLOOR_KPA = Constant(38.0, "kPa", "ASTM D5798-15 class 1 minimum via US DOE AFDC", Standing.PUBLISHED)
FEW = 96  # positions
# The share of the tolerance at which water counts as dropping out, low decay first.
WATER_FACTORS = np.array([1.0, water.SCATTER_FACTOR.value, water.SCATTER_FACTOR.value])


def limit_days(now: FuelNow) -> Floats:
    """Days (limits, 3, n), low decay first, on which each limit is reached; NaN for an empty tank.

    Worked out in blocks of cars, which keeps the tables of a large fleet within the processor's cache.
    """
    n = len(now.state.since)
    blocks = [np.arange(start, min(start + BLOCK, n)) for start in range(0, max(n, 1), BLOCK)]
    return np.concatenate([_limit_days(now.take(rows)) for rows in blocks], axis=-1)


def _limit_days(now: FuelNow) -> Floats:
    days = np.stack(
        [
            _water_days(now),
            life_used_days(now, 1.0),
            _light_end_days(now),
            _cold_days(now),
            _two_year_days(now),
            _season_days(now),
            _glass_fibre_days(now),
        ]
    )
    return np.where(now.state.litres > 0, days, np.nan)


def life_used_days(now: FuelNow, share: float) -> Floats:
    """Days (3, n) on which ``share`` of the oxidation life is used; the last event's day if before."""
    state, tank, air = now.state, now.tanks, now.air
    amount = (share - state.used) * life_days(state, tank)
    return _by_case(now, air.ageing, tank.place, amount)


def _by_case(now: FuelNow, totals: Floats, row: Ints, amount: Floats) -> Floats:
    """Days (3, n) on which rows (3, n) or (n,) of ``totals`` have gained ``amount`` (3, n)."""
    day = reach_each(totals, row, float(now.air.first_day), now.state.since, np.zeros(1), amount)
    return np.where(day > now.until, np.nan, day)


def floor_kpa(state: FuelState) -> Floats:
    """The Reid pressure below which petrol or E85 is below its summer minimum, (n,)."""
    e85 = state.bio >= water.E85_LEAST_ETHANOL.value
    return np.where(e85, E85_FLOOR_KPA.value, fuel_vapour.FLOOR_KPA.value)


def _light_end_days(now: FuelNow) -> Floats:
    state, tank = now.state, now.tanks
    ratio, slope = ullage_ratio(state, tank), fuel_vapour.weathering_slope(state.winter)
    amount = fuel_vapour.loss_until(state.reid_kpa, floor_kpa(state), REFERENCE_KPA[tank.kind], ratio, slope)
    flat, row = loss_rows(tank, now.air)
    return _by_case(now, flat, row, np.where(tank.diesel, np.nan, amount))


def _water_days(now: FuelNow) -> Floats:
    state, tank, air = now.state, now.tanks, now.air
    paths, first = water_paths(state, tank, air), float(air.first_day)
    before = paths.total_g(air, lambda table, row: total_at(table, row, first, state.since))

    def wet(index: Ints) -> Bools:
        gained = paths.total_g(air, lambda table, row: table[row, index]) - before
        held = tolerance_g(state, tank, air, CASES, index) * WATER_FACTORS[:, None]
        return np.asarray(state.water_g + np.maximum(gained, 0.0) >= held)

    days = _first_days(now, wet)
    return np.where(state.separated, np.fmin(days, state.since), days)


def _cold_days(now: FuelNow) -> Floats:
    """Diesel only: the first night below the plugging point of what was bought."""
    state, tank, air = now.state, now.tanks, now.air
    if not tank.diesel.any():
        return np.full((3, len(tank.diesel)), np.nan)
    plugging = state.plugs_c
    start = air.index(state.since)
    days = _first_days(now, lambda index: air.coldest_between(CASES, tank.place, start, index) < plugging)
    return np.where(tank.diesel, days, np.nan)


def may_wax(now: FuelNow, today: Day) -> Bools:
    """Where a cold night at this time of the year may wax the diesel that is in the tank, (n,)."""
    at = now.air.index(np.broadcast_to(np.asarray(today, float), now.state.since.shape))
    cold = now.air.coldest_between(LIKELY, now.tanks.place, at, at) < now.state.plugs_c[LIKELY]
    return np.asarray(now.tanks.diesel & (now.state.litres > 0.0) & cold)


def _first_days(now: FuelNow, reached: Callable[[Ints], Bools]) -> Floats:
    """The first whole day (3, n) from the last event on which a test that stays true comes true.

    ``reached`` takes positions (.., 3, n) in the air's tables. The days of many cars are halved; of a few,
    more days are looked at in each round, which takes no longer.
    """
    low = np.broadcast_to(now.air.index(now.state.since), (3, len(now.state.since)))
    high = np.broadcast_to(now.air.index(now.until - 1.0), low.shape)
    never = ~reached(high)
    bits = 1 if low.size > FEW else 4
    parts = np.arange(1, 1 << bits)[:, None, None]
    for _ in range(-(-int(now.air.days).bit_length() // bits)):
        middle = low + ((high - low) * parts >> bits)
        true = reached(middle)
        low = np.where(true, low, np.minimum(middle + 1, high)).max(axis=0)
        high = np.where(true, middle, high).min(axis=0)
    return np.where(never, np.nan, np.maximum(now.air.first_day + high, now.state.since))


def _two_year_days(now: FuelNow) -> Floats:
    cap = now.state.filled + fuel_oxidation.CALENDAR_CAP_MONTHS.value * DAYS_PER_MONTH
    return np.broadcast_to(cap, (3, len(cap)))


def _season_days(now: FuelNow) -> Floats:
    """E85 of the summer blend only: the first day on which winter fuel is sold."""
    state, tank, air = now.state, now.tanks, now.air
    summer_e85 = (state.bio >= water.E85_LEAST_ETHANOL.value) & (state.winter <= SUMMER_SHARE) & ~tank.diesel
    amount = np.broadcast_to(np.where(summer_e85, 1.0, np.nan), (3, len(summer_e85)))
    if not summer_e85.any():
        return amount
    days = np.concatenate([np.zeros((len(air.winter), 1)), np.cumsum(air.winter, axis=1)], axis=1)
    return _by_case(now, days, tank.place, amount)


def _glass_fibre_days(now: FuelNow) -> Floats:
    """Ethanol in a tank of glass-fibre resin: from the filling on; no late date of its own."""
    attacked = now.tanks.glass_fibre & (now.state.bio > ETHANOL_ATTACK.value) & ~now.tanks.diesel
    day = np.where(attacked, now.state.filled, np.nan)
    return np.stack([np.full_like(day, np.nan), day, day])
