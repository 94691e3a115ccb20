"""What is in each car's tank on a day, and how it ages while nothing is put in or taken out."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scheduler.decay import fuel_oxidation, fuel_vapour, water
from scheduler.materials import at
from scheduler.materials.fuels import FUELS
from scheduler.plan.crossings import total_at
from scheduler.plan.fuel_air import REFERENCE_KPA, FuelAir
from scheduler.plan.fuel_tanks import Tanks

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

GRAMS_PER_LITRE_PCT = water.WATER_DENSITY_G_L.value / 100.0


@dataclass(frozen=True)
class FuelState:
    """The fuel of n cars on day ``since``; (3, n) are low, likely, high decay.

    ``used``: share of the oxidation life; ``reid_kpa``: vapour pressure (0 for diesel); ``water_g``;
    ``bio``, ``treated``, ``winter``: shares of the volume; ``filled``: mean day of filling;
    ``separated``; ``wasted``: a dose came too late to help; ``recorded``: a filling is on record.
    """

    since: Floats
    litres: Floats
    bio: Floats
    treated: Floats
    winter: Floats
    filled: Floats
    used: Floats
    reid_kpa: Floats
    water_g: Floats
    separated: Bools
    wasted: Bools
    recorded: Bools
    assumed: Bools

    def take(self, rows: Ints) -> "FuelState":
        """The same, cut to some rows."""
        return FuelState(**{name: column[..., rows] for name, column in vars(self).items()})

    def put(self, rows: Ints, part: "FuelState") -> None:
        """Write ``part`` over some rows; only for the state under construction here."""
        for name, column in vars(self).items():
            column[..., rows] = getattr(part, name)


@dataclass(frozen=True)
class FuelNow:
    """The state after the last event, with the tanks and the air that carry it on."""

    state: FuelState
    tanks: Tanks
    air: FuelAir


def life_days(state: FuelState, tank: Tanks) -> Floats:
    """Life at 20 °C in days, (3, n) low decay first, of each tank as it stands."""
    fill = state.litres / tank.litres
    return np.asarray(fuel_oxidation.life_days(tank.life_months, fill, tank.vented, state.treated)[::-1])


def ullage_ratio(state: FuelState, tank: Tanks) -> Floats:
    """Empty space over fuel, by volume; infinite in an empty tank."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.maximum(tank.litres - state.litres, 0.0) / state.litres)


def advance(state: FuelState, tank: Tanks, air: FuelAir, day: Floats) -> FuelState:
    """The same fuel on a later ``day`` (n,), with nothing put in or taken out between."""
    aged = _gained(air.ageing, tank.place, air, state.since, day)
    held = tolerance_g(state, tank, air, day)
    water_g = state.water_g + water_gain_g(state, tank, air, day)
    dropped = (state.litres > 0) & (water_g[1] > held)
    changed = {
        "since": day, "used": state.used + aged / life_days(state, tank),
        "reid_kpa": _weathered(state, tank, air, day), "water_g": water_g,
        "separated": state.separated | (dropped & ~tank.diesel),
    }  # fmt: skip
    return FuelState(**vars(state) | changed)


def _gained(totals: Floats, place: Ints, air: FuelAir, start: Floats, day: Floats) -> Floats:
    first = float(air.first_day)
    return np.asarray(total_at(totals, place, first, day) - total_at(totals, place, first, start))


def gained_by_case(
    totals: Floats, tank: Tanks, air: FuelAir, start: Floats, day: Floats
) -> Floats:
    """(3, n): growth of totals (3, kinds, k, d+1) from ``start`` (n,) to ``day`` (n,) or (3, n)."""
    cases, kinds, places, length = totals.shape
    flat = totals.reshape(cases, kinds * places, length)
    return _case_by_case(flat, tank.kind * places + tank.place, air, start, day)


def _case_by_case(totals: Floats, row: Ints, air: FuelAir, start: Floats, day: Floats) -> Floats:
    days = np.broadcast_to(day, (len(totals), len(start)))
    return np.stack([_gained(case, row, air, start, on) for case, on in zip(totals, days, strict=True)])


def water_gain_g(state: FuelState, tank: Tanks, air: FuelAir, day: Floats) -> Floats:
    """(3, n): grams of water taken up from ``state.since`` to ``day``, (n,) or (3, n).

    Ethanol takes up all that is breathed in; other fuel only what drops on a cold wall.
    """
    dissolves = (state.bio > 0) & ~tank.diesel
    ullage_m3 = np.maximum(tank.litres - state.litres, 0.0) / 1000.0
    damp = gained_by_case(air.damp, tank, air, state.since, day) * ullage_m3
    dew = gained_by_case(air.dew, tank, air, state.since, day) * ullage_m3
    swell = _case_by_case(air.swell, tank.place, air, state.since, day)
    damp += swell * tank.expansion_per_k * state.litres / 1000.0
    damp += tank.vent_m3_per_day * _gained(air.humid, tank.place, air, state.since, day)
    return np.where(dissolves, damp, dew)


def tolerance_g(state: FuelState, tank: Tanks, air: FuelAir, day: Floats) -> Floats:
    """Grams of water each tank holds in the coldest from ``state.since`` to ``day``.

    For petrol to 15 % ethanol by the fit; above it, no less than at 15 %; E85 is not limited.
    Diesel: the limit of its standard.
    """
    cold = air.coldest_between(tank.place, air.index(state.since), air.index(day))
    cold = np.clip(cold, water.COLDEST_FIT_C, water.WARMEST_FIT_C)
    share = np.where(tank.diesel, 0.0, np.minimum(state.bio, water.MOST_ETHANOL))
    petrol = state.litres * water.tolerance_pct(share, cold) * GRAMS_PER_LITRE_PCT
    petrol = np.where(state.bio >= water.E85_LEAST_ETHANOL.value, np.inf, petrol)
    diesel = state.litres * tank.density_kg_l * water.DIESEL_LIMIT_MG_KG.value / 1000.0
    return np.where(tank.diesel, diesel, petrol)


def _weathered(state: FuelState, tank: Tanks, air: FuelAir, day: Floats) -> Floats:
    """Reid pressure on ``day``, (3, n); diesel has none."""
    lost = gained_by_case(air.loss, tank, air, state.since, day)
    ratio = np.where(state.litres > 0, ullage_ratio(state, tank), 0.0)
    slope = fuel_vapour.weathering_slope(state.winter)
    after = fuel_vapour.reid_after(state.reid_kpa, lost, REFERENCE_KPA[tank.kind], ratio, slope)
    return np.where(tank.diesel, 0.0, after)


def fresh_reid(tank: Tanks, winter: Floats) -> Floats:
    """(3, n) Reid pressure of fuel bought in season; low decay starts highest."""
    summer_kpa, winter_kpa = (at(FUELS, tank.fuel, f"{season}_kpa")[::-1] for season in ("summer", "winter"))
    return np.nan_to_num(summer_kpa + winter * (winter_kpa - summer_kpa))


def fresh_water(tank: Tanks, litres: Floats, bio: Floats) -> Floats:
    """(3, n) grams of water that fresh fuel brings with it."""
    brought = np.array(water.FUEL_ETHANOL_WATER.range)[:, None] * water.WATER_DENSITY_G_L.value
    petrol = litres * bio * brought
    diesel = litres * tank.density_kg_l * np.array(water.DIESEL_FRESH_MG_KG.range)[:, None] / 1000.0
    return np.where(tank.diesel, diesel, petrol)
