"""When each thing that spoils fuel reaches its limit, for every tank at once.

Six limits, each with three days: by low, likely and high decay. NaN: not within four years.
"""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from scheduler.constants import Constant, Standing
from scheduler.decay import cold_flow, fuel_oxidation, fuel_vapour, water
from scheduler.plan.crossings import first_reach
from scheduler.plan.fuel_air import REFERENCE_KPA
from scheduler.plan.fuel_state import FuelNow, FuelState, life_days, tolerance_g, ullage_ratio, water_gain_g
from scheduler.units import DAYS_PER_MONTH

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

LIMITS = (
    "gum from oxidation",
    "light ends lost",
    "water dropping out",
    "waxing in the cold",
    "two years old",
    "summer E85 carried into winter",
)
OXIDATION, LIGHT_ENDS, WATER, COLD, TWO_YEARS, SEASON = range(len(LIMITS))
E85_FLOOR_KPA = Constant(38.0, "kPa", "ASTM D5798-15 class 1 minimum via US DOE AFDC", Standing.PUBLISHED)
# The share of the tolerance at which water counts as dropping out, low decay first.
WATER_FACTORS = np.array([1.0, water.SCATTER_FACTOR.value, water.SCATTER_FACTOR.value])
SUMMER_SHARE = 0.5  # policy: more than half winter fuel counts as winter fuel


def limit_days(now: FuelNow) -> Floats:
    """Days (limits, 3, n), low decay first, on which each limit is reached; NaN for an empty tank."""
    days = np.stack([
        life_used_days(now, 1.0), _light_end_days(now), _water_days(now),
        _cold_days(now), _two_year_days(now), _season_days(now),
    ])  # fmt: skip
    return np.where(now.state.litres > 0, days, np.nan)


def life_used_days(now: FuelNow, share: float) -> Floats:
    """Days (3, n) on which ``share`` of the oxidation life is used; the last event's day if before."""
    state, tank, air = now.state, now.tanks, now.air
    amount = (share - state.used) * life_days(state, tank)
    return _by_case(now, air.ageing, tank.place, amount)


def _by_case(now: FuelNow, totals: Floats, row: Ints, amount: Floats) -> Floats:
    flat, n = np.zeros(len(row)), len(row)
    first, start = float(now.air.first_day), now.state.since
    return np.stack([
        first_reach(totals, row, first, start, flat, np.broadcast_to(case, n)) for case in amount
    ])  # fmt: skip


def floor_kpa(state: FuelState) -> Floats:
    """The Reid pressure below which petrol or E85 is below its summer minimum, (n,)."""
    e85 = state.bio >= water.E85_LEAST_ETHANOL.value
    return np.where(e85, E85_FLOOR_KPA.value, fuel_vapour.FLOOR_KPA.value)


def _light_end_days(now: FuelNow) -> Floats:
    state, tank, totals = now.state, now.tanks, now.air.loss
    ratio, slope = ullage_ratio(state, tank), fuel_vapour.weathering_slope(state.winter)
    amount = fuel_vapour.loss_until(
        state.reid_kpa, floor_kpa(state), REFERENCE_KPA[tank.kind], ratio, slope
    )
    amount = np.where(tank.diesel, np.nan, amount)
    row = tank.kind * totals.shape[2] + tank.place
    flat = totals.reshape(3, -1, totals.shape[-1])
    return np.concatenate([
        _by_case(now, flat[case], row, amount[case : case + 1]) for case in range(3)
    ])  # fmt: skip


def _water_days(now: FuelNow) -> Floats:
    state, tank, air = now.state, now.tanks, now.air

    def wet(day: Floats) -> Bools:
        held = tolerance_g(state, tank, air, day) * WATER_FACTORS[:, None]
        return np.asarray(state.water_g + water_gain_g(state, tank, air, day) >= held)

    days = _first_days(now, wet)
    return np.where(state.separated, np.fmin(days, state.since), days)


def _cold_days(now: FuelNow) -> Floats:
    """Diesel only: the first night below the plugging point of what was bought."""
    state, tank, air = now.state, now.tanks, now.air
    plugging = cold_flow.cfpp_c(state.winter <= SUMMER_SHARE)
    start = air.index(state.since)

    def waxed(day: Floats) -> Bools:
        place = np.broadcast_to(tank.place, day.shape)
        cold = air.coldest_between(place, np.broadcast_to(start, day.shape), air.index(day))
        return np.asarray(cold < plugging)

    return np.where(tank.diesel, _first_days(now, waxed), np.nan)


def _first_days(now: FuelNow, reached: Callable[[Floats], Bools]) -> Floats:
    """The first whole day (3, n) from the last event on which a test that stays true comes true."""
    end = float(now.air.first_day + now.air.days - 1)
    low = np.broadcast_to(np.floor(now.state.since), (3, len(now.state.since))).copy()
    high = np.full_like(low, end)
    never = ~reached(high)
    for _ in range(int(now.air.days).bit_length()):
        middle = np.floor((low + high) / 2)
        true = reached(np.maximum(middle, now.state.since))
        low, high = np.where(true, low, middle + 1), np.where(true, middle, high)
        low = np.minimum(low, high)
    return np.where(never, np.nan, np.maximum(high, now.state.since))


def _two_year_days(now: FuelNow) -> Floats:
    cap = now.state.filled + fuel_oxidation.CALENDAR_CAP_MONTHS.value * DAYS_PER_MONTH
    return np.broadcast_to(cap, (3, len(cap)))


def _season_days(now: FuelNow) -> Floats:
    """E85 of the summer blend only: the first day on which winter fuel is sold."""
    state, tank, air = now.state, now.tanks, now.air
    days = np.concatenate([np.zeros((len(air.winter), 1)), np.cumsum(air.winter, axis=1)], axis=1)
    summer_e85 = (state.bio >= water.E85_LEAST_ETHANOL.value) & (state.winter <= SUMMER_SHARE) & ~tank.diesel
    amount = np.where(summer_e85, 1.0, np.nan)
    return _by_case(now, days, tank.place, np.broadcast_to(amount, (3, len(amount))))
