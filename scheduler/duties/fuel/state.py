"""What is in each car's tank on a day, and how it ages while nothing is put in or taken out."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scheduler.duties.crossings import total_at
from scheduler.duties.fuel.air import REFERENCE_KPA, FuelAir
from scheduler.duties.fuel.tanks import Tanks
from scheduler.physics.fuel import oxidation as fuel_oxidation
from scheduler.physics.fuel import vapour as fuel_vapour
from scheduler.physics.fuel import water
from scheduler.physics.fuel.fuels import FUELS
from scheduler.physics.materials import at

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

BLOCK = 20_000  # cars worked on at a time: their tables stay in the processor's cache
SUMMER_SHARE = 0.5  # policy: more than half winter fuel counts as winter fuel
LIKELY, CASES = 1, np.arange(3)[:, None]
GRAMS_PER_LITRE_PCT = water.WATER_DENSITY_G_L.value / 100.0


@dataclass(frozen=True)
class FuelState:
    """The fuel of n cars on day ``since``; (3, n) are low, likely, high decay.

    ``used``: share of the oxidation life; ``reid_kpa``: vapour pressure (0 for diesel); ``water_g``;
    ``bio``, ``treated``, ``winter``: shares of the volume; ``filled``: mean day of filling;
    ``plugs_c`` (3, n): where diesel blocks a filter, °C; ``winterised``: with an additive for that.
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
    plugs_c: Floats
    winterised: Bools
    separated: Bools
    wasted: Bools
    recorded: Bools
    assumed: Bools

    def take(self, rows: Ints) -> "FuelState":
        """The same, cut to the positions ``rows`` (k,)."""
        return FuelState(**{name: column[..., rows] for name, column in vars(self).items()})

    def put(self, rows: Ints, part: "FuelState") -> None:
        """Write ``part`` over the positions ``rows`` (k,); only for the state under construction here."""
        for name, column in vars(self).items():
            column[..., rows] = getattr(part, name)


@dataclass(frozen=True)
class FuelNow:
    """The state after the last event, with the tanks and the air that carry it on, each until a day (n,)."""

    state: FuelState
    tanks: Tanks
    air: FuelAir
    until: Floats

    def take(self, rows: Ints) -> "FuelNow":
        """The same, cut to the positions ``rows`` (k,)."""
        return FuelNow(self.state.take(rows), self.tanks.take(rows), self.air, self.until[rows])


def life_days(state: FuelState, tank: Tanks) -> Floats:
    """Life at 20 °C in days, (3, n) low decay first, of each tank as it stands."""
    fill = state.litres / tank.litres
    return np.asarray(fuel_oxidation.life_days(tank.life_months, fill, tank.vented, state.treated)[::-1])


def ullage_ratio(state: FuelState, tank: Tanks) -> Floats:
    """Empty space over fuel (n,), by volume; infinite in an empty tank."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.maximum(tank.litres - state.litres, 0.0) / state.litres)


def advance(state: FuelState, tank: Tanks, air: FuelAir, day: Floats) -> FuelState:
    """The same fuel on a later ``day`` (n,), with nothing put in or taken out between."""
    aged = _gained(air.ageing, tank.place, air, state.since, day)
    held = tolerance_g(state, tank, air, LIKELY, air.index(day))
    water_g = water_g_on(state, tank, air, day)
    dropped = (state.litres > 0) & (water_g[1] > held)
    changed = {
        "since": day,
        "used": state.used + aged / life_days(state, tank),
        "reid_kpa": _weathered(state, tank, air, day),
        "water_g": water_g,
        "separated": state.separated | (dropped & ~tank.diesel),
    }
    return FuelState(**vars(state) | changed)


def _gained(totals: Floats, place: Ints, air: FuelAir, start: Floats, day: Floats) -> Floats:
    first = float(air.first_day)
    return np.asarray(total_at(totals, place, first, day) - total_at(totals, place, first, start))


def _rows(totals: Floats, kind: Ints | int, place: Ints) -> Ints:
    """(3, n): rows of ``totals`` (3, kinds, k, d+1) flattened to (rows, d+1), by case, kind and place."""
    _, kinds, places, _ = totals.shape
    return np.asarray((CASES * kinds + kind) * places + place)


def loss_rows(tank: Tanks, air: FuelAir) -> tuple[Floats, Ints]:
    """The totals of lost vapour flattened to (rows, d+1), and the rows (3, n) of each tank."""
    return air.loss.reshape(-1, air.loss.shape[-1]), _rows(air.loss, tank.kind, tank.place)


@dataclass(frozen=True)
class WaterPaths:
    """How each tank takes part in the totals of water: rows (3, n) of two tables, and shares (n,).

    Ethanol takes up all that is breathed in; other fuel only what drops on a cold wall.
    """

    breath_row: Ints
    swell_row: Ints
    place: Ints
    ullage_m3: Floats
    swell_m3: Floats
    vent_m3: Floats

    def total_g(self, air: FuelAir, look_up: Callable[[Floats, Ints], Floats]) -> Floats:
        """(3, n): total of water by ``look_up`` of rows of a table (rows, d+1) on some day."""
        breath, swell = (table.reshape(-1, table.shape[-1]) for table in (air.breath, air.swell))
        return np.asarray(
            self.ullage_m3 * look_up(breath, self.breath_row)
            + self.swell_m3 * look_up(swell, self.swell_row)
            + self.vent_m3 * look_up(air.humid, self.place)
        )


def water_paths(state: FuelState, tank: Tanks, air: FuelAir) -> WaterPaths:
    """The paths of water into each tank as it stands."""
    dissolves = (state.bio > 0) & ~tank.diesel
    kind = np.where(dissolves, tank.kind, tank.kind + len(REFERENCE_KPA))
    return WaterPaths(
        breath_row=_rows(air.breath, kind, tank.place),
        swell_row=_rows(air.swell[:, None], 0, tank.place),
        place=tank.place,
        ullage_m3=np.maximum(tank.litres - state.litres, 0.0) / 1000.0,
        swell_m3=np.where(dissolves, tank.expansion_per_k * state.litres / 1000.0, 0.0),
        vent_m3=np.where(dissolves, tank.vent_m3_per_day, 0.0),
    )


def water_g_on(state: FuelState, tank: Tanks, air: FuelAir, day: Floats) -> Floats:
    """(3, n): grams of water in each tank on ``day`` (n,)."""
    paths, first = water_paths(state, tank, air), float(air.first_day)
    now = paths.total_g(air, lambda table, row: total_at(table, row, first, day))
    return np.asarray(
        state.water_g + now - paths.total_g(air, lambda table, row: total_at(table, row, first, state.since))
    )


def tolerance_g(state: FuelState, tank: Tanks, air: FuelAir, case: Ints | int, stop: Ints) -> Floats:
    """Grams of water (n,) each tank holds in the coldest from ``state.since`` to position ``stop``.

    For petrol to 15 % ethanol by the fit; above it, no less than at 15 %; E85 is not limited.
    Diesel: the limit of its standard.
    """
    cold = air.coldest_between(case, tank.place, air.index(state.since), stop)
    cold = np.clip(cold, water.COLDEST_FIT_C, water.WARMEST_FIT_C)
    share = np.where(tank.diesel, 0.0, np.minimum(state.bio, water.MOST_ETHANOL))
    petrol = state.litres * water.tolerance_pct(share, cold) * GRAMS_PER_LITRE_PCT
    petrol = np.where(state.bio >= water.E85_LEAST_ETHANOL.value, np.inf, petrol)
    diesel = state.litres * tank.density_kg_l * water.DIESEL_LIMIT_MG_KG.value / 1000.0
    return np.where(tank.diesel, diesel, petrol)


def _weathered(state: FuelState, tank: Tanks, air: FuelAir, day: Floats) -> Floats:
    """Reid pressure on ``day``, (3, n); diesel has none."""
    totals, row = loss_rows(tank, air)
    lost = _gained(totals, row, air, state.since, day)
    ratio = np.where(state.litres > 0, ullage_ratio(state, tank), 0.0)
    slope = fuel_vapour.weathering_slope(state.winter)
    after = fuel_vapour.reid_after(state.reid_kpa, lost, REFERENCE_KPA[tank.kind], ratio, slope)
    return np.where(tank.diesel, 0.0, after)


def fresh_reid(tank: Tanks, winter: Floats) -> Floats:
    """(3, n) Reid pressure, kPa, of fuel bought in season; low decay starts highest.

    ``winter`` (n,) 0 to 1: the share of winter fuel.
    """
    summer_kpa, winter_kpa = (at(FUELS, tank.fuel, f"{season}_kpa")[::-1] for season in ("summer", "winter"))
    return np.nan_to_num(summer_kpa + winter * (winter_kpa - summer_kpa))


def fresh_water(tank: Tanks, litres: Floats, bio: Floats) -> Floats:
    """(3, n) grams of water that fresh fuel brings with it.

    ``litres`` (n,) bought; ``bio`` (n,) their share of ethanol or FAME by volume, 0 to 1.
    """
    brought = np.array(water.FUEL_ETHANOL_WATER.range)[:, None] * water.WATER_DENSITY_G_L.value
    petrol = litres * bio * brought
    diesel = litres * tank.density_kg_l * np.array(water.DIESEL_FRESH_MG_KG.range)[:, None] / 1000.0
    return np.where(tank.diesel, diesel, petrol)
