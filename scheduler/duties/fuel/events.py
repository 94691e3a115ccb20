"""Each car's fuel events folded in order into what is in its tank after the last one.

Cars are worked on together by event rank: all first events, then all second ones, and so on, so
there is a loop over the events of one car and never over cars or days.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scheduler.duties.conditions import FUEL_EVENTS, Fleet, FuelEvents
from scheduler.duties.fuel.air import HORIZON_DAYS, FuelAir, fuel_air
from scheduler.duties.fuel.state import (
    BLOCK,
    LIKELY,
    SUMMER_SHARE,
    FuelNow,
    FuelState,
    advance,
    fresh_reid,
    fresh_water,
    life_days,
    tolerance_g,
)
from scheduler.duties.fuel.tanks import FULL_SHARE, Tanks, tanks
from scheduler.duties.policy import Policy
from scheduler.duties.windows import Day, each_row
from scheduler.physics.fuel.blending import blend
from scheduler.physics.fuel.cold_flow import ADDITIVE_K, REPLACED_SHARE, cfpp_c, plugs_after_pouring_c
from scheduler.physics.fuel.fuels import FUELS
from scheduler.physics.materials import at
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

FILLED, ADDED, DRAINED, STABILISED, GAUGED, COLD_ADDITIVE = range(len(FUEL_EVENTS))
DREGS_LITRES = Constant(0.1, "L", "less than this counts as an empty tank", Standing.POLICY)
HALF_TANK = Constant(0.5, "1", "fuel left where nobody wrote it down", Standing.POLICY)
UNDATED_DAYS = Constant(183.0, "days", "fuel of unknown age counts as over 6 months old", Standing.POLICY)
AGE_BEFORE_DAYS = Constant(
    0.0,
    "days at 20 °C",
    "unrecorded fuel may be 90 days old on the car's last day of use: refiners "
    "reckon 90 days from refinery to engine (trade bulletin)",
    Standing.POLICY,
    0.0,
    90.0,
)


AT_PUMP_DAYS = Constant(
    0.0,
    "days at 20 °C",
    "fuel just bought may be a month old already, of the 90 days that refiners reckon to the engine",
    Standing.POLICY,
    0.0,
    30.0,
)


def fuel_now(fleet: Fleet, today: Day, policy: Policy) -> FuelNow:
    """Fold the fleet's fuel events up to ``today``; the state stands at each car's last event."""
    events = _ordered(fleet.fuel_events, each_row(today, len(fleet)))
    start = _start_days(fleet, events, today)
    used_places, place = np.unique(fleet.place, return_inverse=True)
    places = [fleet.places[i] for i in used_places] or fleet.places[:1]
    air = fuel_air(places, float(start.min(initial=float(np.min(today)))), today, policy.cold_spell_k)
    start = np.maximum(start, air.first_day)
    tank = tanks(fleet, place.astype(np.int64))
    state = _unrecorded(tank, air, start)
    for now in _turns(_ranks(events.row)):
        rows = events.row[now]
        part, its_tank = state.take(rows), tank.take(rows)
        part = advance(part, its_tank, air, np.maximum(events.day[now], air.first_day))
        event = _Event(events.kind[now], events.litres[now], events.bio_share[now], events.cfpp_c[now])
        state.put(rows, _apply(part, its_tank, air, event, policy))
    until = np.ceil(each_row(today, len(fleet))) + HORIZON_DAYS
    return FuelNow(state, tank, air, np.minimum(until, air.first_day + air.days))


def _ordered(events: FuelEvents, today: Floats) -> FuelEvents:
    """Events up to each car's ``today`` (n,) by car; refuses days that are missing or run backwards."""
    if np.isnan(events.day).any():
        raise BadInput("fuel_events.day", "is missing for an event")
    keep = np.flatnonzero(events.day <= today[events.row])
    keep = keep[np.argsort(events.row[keep], kind="stable")]
    part = FuelEvents(**{name: column[keep] for name, column in vars(events).items()})
    if ((np.diff(part.day) < 0) & (np.diff(part.row) == 0)).any():
        raise BadInput("fuel_events.day", "runs backwards within a car")
    return part


def _ranks(row: Ints) -> Ints:
    """0, 1, 2.. within each run of equal rows."""
    starts = np.flatnonzero(np.append(True, row[1:] != row[:-1])) if row.size else np.empty(0, int)
    lengths = np.diff(np.append(starts, row.size))
    return np.asarray(np.arange(row.size) - np.repeat(starts, lengths), np.int64)


def _turns(rank: Ints) -> Iterator[Ints]:
    """Positions of events of one rank at a time, in blocks of cars, lowest rank first."""
    order = np.argsort(rank, kind="stable")
    counts = np.bincount(rank)
    ends = np.cumsum(counts)
    for start, end in zip(ends - counts, ends, strict=True):
        for block in range(start, end, BLOCK):
            yield order[block : min(block + BLOCK, end)]


def _start_days(fleet: Fleet, events: FuelEvents, today: Day) -> Floats:
    """Since when fuel that nobody recorded has been in the tank: last road use, else storage."""
    day = np.where(np.isnan(fleet.last_road_use), fleet.stored_since, fleet.last_road_use)
    day = np.where(np.isnan(day), today - UNDATED_DAYS.value, np.minimum(day, today))
    first = np.full(len(fleet), np.inf)
    np.minimum.at(first, events.row, events.day)
    return np.asarray(np.minimum(day, first))


def _unrecorded(tank: Tanks, air: FuelAir, start: Floats) -> FuelState:
    """Half a tank of fuel of the season of ``start``, before any event."""
    n, no = len(start), np.zeros(len(start), bool)
    litres = tank.litres * HALF_TANK.value
    bio = at(FUELS, tank.fuel, "bio_share")[1]
    winter = air.winter[tank.place, air.index(start)].astype(float)
    state = FuelState(
        start.copy(),
        litres,
        bio,
        np.zeros(n),
        winter,
        start.copy(),
        np.zeros((3, n)),
        fresh_reid(tank, winter),
        fresh_water(tank, litres, bio),
        cfpp_c(winter <= SUMMER_SHARE),
        no.copy(),
        no,
        no.copy(),
        no.copy(),
        ~no,
    )
    state.used[:] = np.array(AGE_BEFORE_DAYS.range)[:, None] / life_days(state, tank)
    return state


@dataclass(frozen=True)
class _Event:
    """One event a car, (n,) each: its kind, and of what was poured the litres, blend and CFPP."""

    kind: Ints
    litres: Floats
    bio: Floats
    cfpp_c: Floats


def _apply(state: FuelState, tank: Tanks, air: FuelAir, event: _Event, policy: Policy) -> FuelState:
    """What one event a car does to its tank."""
    kind, litres, bio = event.kind, event.litres, event.bio
    poured = (kind == FILLED) | (kind == ADDED)
    room = np.maximum(tank.litres * FULL_SHARE.value - np.where(kind == FILLED, 0.0, state.litres), 0.0)
    silent = np.isnan(litres)
    added = np.where(poured, np.where(silent, room, litres), 0.0)
    before = FuelState(**vars(state) | {"litres": np.where(kind == FILLED, 0.0, state.litres)})
    mixed = _pour(before, tank, air, added, event)
    plugs_c, winterised = _winterised(mixed, tank, air, kind == COLD_ADDITIVE)
    drained = np.where(kind == DRAINED, np.where(silent, np.inf, litres), 0.0)
    left = np.where((kind == GAUGED) & ~silent, litres, np.maximum(mixed.litres - drained, 0.0))
    left = np.where(left < DREGS_LITRES.value, 0.0, left)
    share = np.divide(left, mixed.litres, out=np.zeros_like(left), where=mixed.litres > 0)
    dosed = kind == STABILISED
    serves = state.used[1] < policy.stabiliser_serves_until_life
    changed = {
        "litres": left,
        "water_g": mixed.water_g * share,
        "treated": np.where(dosed & serves, 1.0, mixed.treated),
        "wasted": (state.wasted & (kind != FILLED)) | (dosed & ~serves),
        "plugs_c": plugs_c,
        "winterised": winterised & (left > 0),
        "separated": mixed.separated & (left > 0),
        "recorded": (kind == FILLED) | state.recorded | (left == 0),
        "assumed": ((kind != FILLED) & state.assumed & (left > 0)) | (poured & (silent | np.isnan(bio))),
    }
    return FuelState(**vars(mixed) | changed)


def _winterised(state: FuelState, tank: Tanks, air: FuelAir, dosed: Bools) -> tuple[Floats, Bools]:
    """Where each filling plugs (3, n), and which bear an additive: once, and only while the fuel is clear."""
    now = air.index(state.since)
    clear = air.coldest_between(LIKELY, tank.place, now, now) >= state.plugs_c[LIKELY]
    helps = dosed & clear & tank.diesel & ~state.winterised
    by = np.where(helps, np.array(ADDITIVE_K.range[::-1])[:, None], 0.0)
    return state.plugs_c - by, state.winterised | helps


def _pour(state: FuelState, tank: Tanks, air: FuelAir, added: Floats, event: _Event) -> FuelState:
    """Fresh fuel on top of what is there: shares mix by volume, and the mixture may drop its water."""
    bio = np.where(np.isnan(event.bio), at(FUELS, tank.fuel, "bio_share")[1], event.bio)
    winter = air.winter[tank.place, air.index(state.since)].astype(float)

    def mix(there: Floats, fresh: Floats | float) -> Floats:
        return blend(state.litres, there, added, fresh)

    share = np.divide(added, state.litres + added, out=np.zeros_like(added), where=added > 0.0)
    fresh_c = np.where(np.isnan(event.cfpp_c), cfpp_c(winter <= SUMMER_SHARE), event.cfpp_c)
    plugs_c = plugs_after_pouring_c(np.where(state.litres > 0.0, state.plugs_c, np.nan), fresh_c, share)
    full = FuelState(**vars(state) | {"litres": state.litres + added})
    changed = {
        "plugs_c": np.where(added > 0.0, plugs_c, state.plugs_c),
        "winterised": state.winterised & (share < REPLACED_SHARE),
        "litres": state.litres + added,
        "bio": mix(state.bio, bio),
        "treated": mix(state.treated, 0.0),
        "winter": mix(state.winter, winter),
        "filled": mix(state.filled, state.since),
        "used": mix(state.used, np.array(AT_PUMP_DAYS.range)[:, None] / life_days(full, tank)),
        "reid_kpa": mix(state.reid_kpa, fresh_reid(tank, winter)),
        "water_g": np.where(state.litres > 0, state.water_g, 0.0) + fresh_water(tank, added, bio),
    }
    mixed = FuelState(**vars(state) | changed)
    held = tolerance_g(mixed, tank, air, LIKELY, air.index(state.since))
    trapped = (state.litres > 0) & (added > 0) & (mixed.water_g[1] > held) & ~tank.diesel
    separated = (state.separated & (state.litres > 0)) | trapped
    return FuelState(**vars(mixed) | {"separated": separated})
