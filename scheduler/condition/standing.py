"""What standing has told on one kept car, each system by the standing that matters to it."""

from collections.abc import Collection, Iterator, Sequence

import numpy as np

from scheduler.condition.outlook import Finding, Seen, Stood, SystemOutlook, outlook
from scheduler.condition.systems import SYSTEMS
from scheduler.duties.battery.charge.evidence import GRAVITY, KINDS, VOLTS
from scheduler.duties.battery.charge.state import known_state
from scheduler.duties.conditions import FUEL_SYSTEMS, REGIMES, TAGS, UNKNOWN, VENTINGS, Fleet
from scheduler.duties.dampness import damp_shares
from scheduler.duties.fuel.outlook import fuel_outlook
from scheduler.duties.fuel.tanks import FULL_SHARE
from scheduler.duties.policy import Policy
from scheduler.duties.words import one_car, spoken
from scheduler.physics.climate import span
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.duties import DUTIES

Days = tuple[float, float | None]  # shortest and longest; None: unknown
YEAR_DAYS = 365
FROST_C = Constant(0.0, "°C", "a night of the past year at freezing, inside", Standing.POLICY)
HEAT_C = Constant(30.0, "°C", "an afternoon of the past year above this, inside", Standing.POLICY)
ETHANOL = Constant(0.02, "1", "ethanol beyond a trace in the tank", Standing.POLICY)
EVEN_SHARE = Constant(0.5, "1", "half of what is in the tank has its dose", Standing.POLICY)
READ_DAYS = Constant(30.0, "days", "so long a reading of the battery speaks", Standing.POLICY)
RUNS = frozenset(duty.code for duty in DUTIES if duty.work.warms)
CHARGES = frozenset(duty.code for duty in DUTIES if duty.effect == "charged")
BY_CHARGE = ("battery",)
BY_ROLL = ("tyres", "shoes", "clutch")
WITHOUT_POINTS = ("electronic_injection", "diesel")
OPEN_SHELTERS = ("open", "covered")


def outlooks(
    fleet: Fleet,
    today: float,
    policy: Policy,
    late: Collection[str],
    findings: Sequence[Finding] = (),
    evidence: Days | None = None,
) -> tuple[SystemOutlook, ...]:
    """Every system that one car has, each by the standing that tells on it.

    Most count from the last warm run on the road; a battery from its last charge too, what a roll frees
    from the last roll. Where none is known it has stood at least since the lay-up, and nobody knows
    how much longer. ``late`` are the duties past their window. ``evidence``: shortest and longest days since
    the last road use, where evidence bounds them; it stands in for what the record alone would say.
    What only a find can tell is left out where there is none.
    """
    findings = (*findings, *_read(fleet, today, policy))
    damp = float(damp_shares(one_car(fleet), today, policy)[0])
    conditions = frozenset(_conditions(fleet, today, policy, late))
    stood = evidence or _days(fleet, today, _ran(fleet))
    whole = Stood(*stood, damp, conditions)
    told = {each.system: each for each in outlook(whole, findings)}
    for parts, since in ((BY_CHARGE, _charged(fleet)), (BY_ROLL, _rolled(fleet))):
        own = Stood(*(stood if np.isnan(since) else _days(fleet, today, since)), damp, conditions)
        told |= {each.system: each for each in outlook(own, findings) if each.system in parts}
    seen = {finding.system for finding in findings}
    silent = {system.name for system in SYSTEMS if system.by_finds} - seen
    return tuple(each for name, each in told.items() if name not in _not_fitted(fleet) | silent)


def _read(fleet: Fleet, today: float, policy: Policy) -> Iterator[Finding]:
    """A battery that a reading found charged, for as long as one reading speaks."""
    state = known_state(fleet, today, policy)
    kind = KINDS[int(state.kind[0])] if state.kind[0] >= 0 else ""
    day, shown = float(state.day[0]), float(state.events.shown[state.newest[0]]) if kind else float("nan")
    if kind in (VOLTS, GRAVITY) and today - day <= READ_DAYS.value and state.soc[0] >= policy.recharge_soc:
        value = f"{shown:.2f} V" if kind == VOLTS else f"{shown:.3f}"
        yield Finding("battery", Seen.GOOD, f"{kind} {value} on {spoken(day)}")


def _ran(fleet: Fleet) -> float:
    return float(np.fmax(fleet.last_full_warm, fleet.last_road_use)[0])


def _rolled(fleet: Fleet) -> float:
    return float(np.fmax(fleet.last_moved, fleet.last_road_use)[0])


def _charged(fleet: Fleet) -> float:
    """The last full charge or warm drive: either leaves it charged."""
    ends = fleet.charges.day[fleet.charges.completed]
    return float(np.fmax(ends.max() if ends.size else np.nan, _ran(fleet)))


def _days(fleet: Fleet, today: float, since: float) -> Days:
    if not np.isnan(since):
        return max(today - since, 0.0), max(today - since, 0.0)
    return max(today - float(np.nan_to_num(fleet.stored_since[0], nan=today)), 0.0), None


def _not_fitted(fleet: Fleet) -> set[str]:
    """Parts that a car with this fuel system does not have; all are taken to be there where it is unknown."""
    code = int(fleet.fuel_system[0])
    if code == UNKNOWN:
        return set()
    name = FUEL_SYSTEMS[code]
    gone = set() if name == "carburettor" else {"carburettor"}
    return gone | ({"points"} if name in WITHOUT_POINTS else set())


def _conditions(fleet: Fleet, today: float, policy: Policy, late: Collection[str]) -> Iterator[str]:
    yield from _kept(fleet, late)
    yield from _fuel(fleet, today, policy)
    yield from _place(fleet, today)


def _kept(fleet: Fleet, late: Collection[str]) -> Iterator[str]:
    """What the keepers do for it."""
    regime, known = int(fleet.regime[0]), bool(len(fleet.charges.row)) or bool(len(fleet.readings.row))
    if regime == REGIMES.index("exercised") and not RUNS.intersection(late):
        yield "exercised"
    if regime == REGIMES.index("preserved") or _tagged(fleet, "engine_preserved"):
        yield "preserved"
    if fleet.on_maintainer[0] or (known and not CHARGES.intersection(late)):
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
