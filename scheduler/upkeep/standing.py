"""How one kept car has stood, in the terms in which standing tells on its systems."""

from collections.abc import Collection, Iterator

import numpy as np

from scheduler.climate import span
from scheduler.conditions import REGIMES, TAGS, VENTINGS, Fleet
from scheduler.constants import Constant, Standing
from scheduler.plan.dampness import damp_shares
from scheduler.plan.fuel_outlook import fuel_outlook
from scheduler.plan.fuel_tanks import FULL_SHARE
from scheduler.plan.policy import Policy
from scheduler.plan.words import one_car
from scheduler.waking.outlook import Stood

YEAR_DAYS = 365
FROST_C = Constant(0.0, "°C", "a night of the past year at freezing, inside", Standing.POLICY)
HEAT_C = Constant(30.0, "°C", "an afternoon of the past year above this, inside", Standing.POLICY)
ETHANOL = Constant(0.02, "1", "ethanol beyond a trace in the tank", Standing.POLICY)
EVEN_SHARE = Constant(0.5, "1", "half of what is in the tank has its dose", Standing.POLICY)
OPEN_SHELTERS = ("open", "covered")


def stood(fleet: Fleet, today: float, policy: Policy, late: Collection[str]) -> Stood:
    """One car's standing since it last ran warm on the road; ``late`` are the duties past their window.

    Where no such run is known it has stood at least since the lay-up, and nobody knows how much longer.
    """
    shortest, longest = _days(one_car(fleet), today)
    damp = float(damp_shares(fleet, today, policy)[0])
    return Stood(shortest, longest, damp, frozenset(_conditions(fleet, today, policy, late)))


def _days(fleet: Fleet, today: float) -> tuple[float, float | None]:
    ran = np.fmax(fleet.last_full_warm, fleet.last_road_use)[0]
    if not np.isnan(ran):
        return max(today - ran, 0.0), max(today - ran, 0.0)
    return max(today - float(np.nan_to_num(fleet.stored_since[0], nan=today)), 0.0), None


def _conditions(fleet: Fleet, today: float, policy: Policy, late: Collection[str]) -> Iterator[str]:
    yield from _kept(fleet, late)
    yield from _fuel(fleet, today, policy)
    yield from _place(fleet, today)


def _kept(fleet: Fleet, late: Collection[str]) -> Iterator[str]:
    """What the keepers do for it."""
    regime, known = int(fleet.regime[0]), bool(len(fleet.charges.row)) or bool(len(fleet.readings.row))
    if regime == REGIMES.index("exercised") and "run_up" not in late:
        yield "exercised"
    if regime == REGIMES.index("preserved") or _tagged(fleet, "engine_preserved"):
        yield "preserved"
    if fleet.on_maintainer[0] or (known and "charge" not in late):
        yield "maintained"
    if fleet.on_stands[0]:
        yield "off its wheels"


def _tagged(fleet: Fleet, tag: str) -> bool:
    return bool(fleet.tags[0, TAGS.index(tag)])


def _fuel(fleet: Fleet, today: float, policy: Policy) -> Iterator[str]:
    state = fuel_outlook(fleet, today, policy).now.state
    litres, tank = float(state.litres[0]), float(fleet.tank_litres[0])
    if litres <= 0:
        yield "fuel drained"
        return
    if state.bio[0] > ETHANOL.value:
        yield "ethanol"
    if state.treated[0] > EVEN_SHARE.value and not state.wasted[0]:
        yield "stabilised"
    if fleet.venting[0] == VENTINGS.index("open"):
        yield "vented tank"
    if not np.isnan(tank) and litres < FULL_SHARE.value * tank:
        yield "part full"


def _place(fleet: Fleet, today: float) -> Iterator[str]:
    end = int(today) + 1
    place = span(fleet.places[int(fleet.place[0])], end - YEAR_DAYS, end)
    if place.min_c.min() <= FROST_C.value:
        yield "frost"
    if place.max_c.max() >= HEAT_C.value:
        yield "heat"
    if place.shelter in OPEN_SHELTERS:
        yield "open building"
    if place.shelter == "humidity_controlled":
        yield "dry store"
