"""What the air of each place does to fuel, as running totals over the days.

Built once for a fleet and looked up for each tank: the cost grows with places times days, and
with cars only by a look-up. Leading axis 3 is low, likely, high decay.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from scheduler.duties.windows import Day
from scheduler.physics import climate
from scheduler.physics.climate import Place
from scheduler.physics.fuel import oxidation as fuel_oxidation
from scheduler.physics.fuel import vapour as fuel_vapour
from scheduler.physics.fuel import water
from scheduler.vocabulary.constants import Constant, Standing

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

# How a tank breathes: diesel and its vapourless gas; petrol with a free vent; petrol behind valves.
DIESEL, FREE_VENT, VALVED = 0, 1, 2
REFERENCE_KPA = np.array([0.0, 60.0, 75.0])  # Reid pressure at which each kind's loss is integrated
TANK_SWING = Constant(
    0.5,
    "1",
    "share of the air's daily swing that a tank follows; AP-42 takes all of it",
    Standing.POLICY,
    0.25,
    1.0,
)
RELIEF_KPA = Constant(3.5, "kPa", "setting of a pressure and vacuum cap, assumed", Standing.POLICY, 1.7, 3.5)
SPELL_SHARES = (0.0, 0.5, 1.0)  # policy: no cold spell, half of one, all of it
HORIZON_DAYS = 762  # two years and a month: the two-year limit ends every life within that
LAST_AIR = 4  # the next car at the same place, or the same one again, asks for the same air
_SEASON_DAYS = 31
_LEAST_SEASON_K = 8.0  # policy: where warm and cold months differ by less there is no winter fuel


@dataclass(frozen=True)
class FuelAir:
    """Running totals of k places from ``first_day``; (.., d+1) totals, (.., d) daily values.

    ``ageing`` (k, d+1): days at 20 °C. ``loss`` (3, 3, k, d+1), by tank kind: g of fuel lost per m³ of
    empty space. ``breath`` (3, 6, k, d+1): g of water per m³ of empty space, by tank kind all that is
    breathed in, then by tank kind what of it a cold wall keeps. ``swell`` (3, k, d+1): g of water
    drawn in per m³ of fuel per unit of expansion. ``humid`` (k, d+1): g·day/m³ of water outside.
    ``cold`` (levels, 3, k, d): coldest of 2^level days, by low, likely and high chance of a cold
    spell. ``winter`` (k, d): winter fuel is sold.
    """

    first_day: int
    ageing: Floats
    loss: Floats
    breath: Floats
    swell: Floats
    humid: Floats
    cold: Floats
    winter: Bools

    @property
    def days(self) -> int:
        """How many days are covered."""
        return int(self.winter.shape[1])

    def index(self, day: Floats) -> Ints:
        """Positions of days (ordinals, any shape), held within the table."""
        return np.clip(day - self.first_day, 0, self.days - 1).astype(np.int64)

    def coldest_between(self, case: Ints | int, place: Ints, start: Ints, stop: Ints) -> Floats:
        """The coldest, °C, from position ``start`` to ``stop`` (both included, start <= stop).

        ``case`` 0 to 2; positions of ``place``, ``start`` and ``stop`` broadcast: (n,) or (3, n).
        """
        level = np.frexp(stop - start + 1.0)[1] - 1
        tail = stop - (1 << level) + 1
        return np.asarray(
            np.minimum(self.cold[level, case, place, start], self.cold[level, case, place, tail])
        )


def fuel_air(places: Sequence[Place], since: float, today: Day, cold_spell_k: float) -> FuelAir:
    """The totals from the day of the oldest fuel to the horizon, over what all places cover."""
    first = max(max(place.first_day for place in places), int(np.floor(since)))
    end = min(min(place.end_day for place in places), int(np.ceil(np.max(today))) + HORIZON_DAYS)
    return _fuel_air(tuple(places), min(first, int(np.min(today))), end, cold_spell_k)


@lru_cache(maxsize=LAST_AIR)
def _fuel_air(places: tuple[Place, ...], first: int, end: int, cold_spell_k: float) -> FuelAir:
    cut = [climate.span(place, first, end) for place in places]
    return FuelAir(
        first_day=first,
        ageing=climate.totals(places, fuel_oxidation.ageing_rate, first, end),
        loss=_totals(places, _lost, first, end),
        breath=_totals(places, _water_breathed, first, end),
        swell=_totals(places, _swelled, first, end),
        humid=_totals(places, _humidity, first, end),
        cold=_sparse(
            np.stack(
                [[climate.coldest(place, share * cold_spell_k) for place in cut] for share in SPELL_SHARES]
            )
        ),
        winter=np.stack(
            [
                climate.once(place, _winter, _winter)[first - place.first_day : end - place.first_day]
                for place in places
            ]
        ),
    )


@dataclass(frozen=True)
class _Swing:
    """A place's days as a tank meets them: (3, 1, d) cold and hot, (d,) humidity, (3, 1, d) dew."""

    cold: Floats
    hot: Floats
    humidity: Floats
    dew: Floats


def _swings(place: Place) -> _Swing:
    follows = np.array(TANK_SWING.range)[:, None, None]
    cold = place.mean_c + follows * (place.min_c - place.mean_c)
    hot = place.mean_c + follows * (place.max_c - place.mean_c)
    vapour_pa = place.rh_pct / 100.0 * water.saturation_pressure_pa(place.mean_c)
    humidity = water.humidity_g_m3(vapour_pa, place.mean_c)
    return _Swing(cold, hot, humidity, water.condensable_g_m3(vapour_pa, place.mean_c, cold))


def _relief() -> Floats:
    """Relief by case (low decay first) and tank kind, (3, 3, 1) kPa."""
    table = np.zeros((3, 3, 1))
    table[:, VALVED, 0] = RELIEF_KPA.range[::-1]
    return table


def _lost(place: Place) -> Floats:
    """Grams of fuel lost each day per m³ of empty space, (3, 3, d) by tank kind."""
    petrol, swing = REFERENCE_KPA[FREE_VENT:, None], _swings(place)
    lost = fuel_vapour.daily_loss_g_per_m3(petrol, swing.cold, swing.hot, _relief()[:, FREE_VENT:])
    return np.concatenate([np.zeros_like(lost[:, :1]), lost], axis=1)


def _breathed(swing: _Swing) -> Floats:
    petrol = REFERENCE_KPA[FREE_VENT:, None]
    vapour = [fuel_vapour.vapour_pressure_kpa(petrol, end) for end in (swing.cold, swing.hot)]
    cold, hot = (np.concatenate([np.zeros_like(part[:, :1]), part], axis=1) for part in vapour)
    return water.gas_breathed_share(swing.cold, swing.hot, cold, hot, _relief())


def _swelled(place: Place) -> Floats:
    """Grams of water drawn in each day per m³ of fuel per unit of expansion, (3, d)."""
    swing = _swings(place)
    return water.liquid_breathed_share(swing.cold, swing.hot, 1.0)[:, 0] * swing.humidity


def _humidity(place: Place) -> Floats:
    """Grams of water in a m³ of the air outside the tank, (d,)."""
    return _swings(place).humidity


def _water_breathed(place: Place) -> Floats:
    """Grams of water drawn in each day per m³ of empty space, (3, 6, d): all, then what a wall keeps."""
    swing = _swings(place)
    air = _breathed(swing)
    return np.concatenate([air * swing.humidity, air * swing.dew], axis=1)


def _totals(places: Sequence[Place], rule: Callable[[Place], Floats], first: int, end: int) -> Floats:
    """Running totals (.., k, d+1) of the daily amount (.., d) that ``rule`` gives at each place."""
    amounts = [climate.daily(place, rule, rule, first, end) for place in places]
    return climate.running(np.stack(amounts, axis=-2))


def _sparse(daily: Floats) -> Floats:
    """Minima over spells of 1, 2, 4.. days: (levels, 3, k, d), for the coldest of any span at once."""
    levels = [daily]
    for level in range(int(daily.shape[-1]).bit_length() - 1):
        step = 1 << level
        shifted = np.concatenate([levels[-1][..., step:], levels[-1][..., -step:]], axis=-1)
        levels.append(np.minimum(levels[-1], shifted))
    return np.stack(levels)


def _winter(place: Place) -> Bools:
    """Whether winter fuel is sold on each day (d,): the month is colder than the year."""
    window = np.ones(_SEASON_DAYS)
    edge = np.convolve(np.ones(place.days), window, "same")
    smooth = np.convolve(place.mean_c, window, "same") / edge
    return np.asarray((smooth < place.mean_c.mean()) & (np.ptp(smooth) >= _LEAST_SEASON_K))
