"""What standing has told on one kept car, each system by the standing that matters to it."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

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

YEAR_DAYS = 365
FROST_C = Constant(0.0, "°C", "a night of the past year at freezing, inside", Standing.POLICY)
HEAT_C = Constant(30.0, "°C", "an afternoon of the past year above this, inside", Standing.POLICY)
ETHANOL = Constant(0.02, "1", "ethanol beyond a trace in the tank", Standing.POLICY)
EVEN_SHARE = Constant(0.5, "1", "half of what is in the tank has its dose", Standing.POLICY)
DAMP_UNKNOWN = Constant(0.5, "1", "share of damp days where nobody knows", Standing.POLICY, 0.1, 0.9)
READ_DAYS = Constant(30.0, "days", "so long a reading of the battery speaks", Standing.POLICY)
RUNS = frozenset(duty.code for duty in DUTIES if duty.work.warms)
IN_CARE = (REGIMES.index("exercised"), REGIMES.index("preserved"))
CHARGES = frozenset(duty.code for duty in DUTIES if duty.effect == "charged")
BY_ROLL = ("tyres", "shoes", "clutch")
BY_RUN = ("carburettor", "fuel_rubber", "points", "cooling", "oil_seals", "bores", "valves", "exhaust")
WITHOUT_POINTS = ("electronic_injection", "diesel")
OPEN_SHELTERS = ("open", "covered")


@dataclass(frozen=True)
class PutAway:
    """What a person says of how it was put away: damp share 0 to 1 (None: nothing), conditions by name."""

    damp_share: float | None = None
    conditions: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Spells:
    """How long one car has stood in one air: since its last road use, warm run, roll, and charge."""

    road: Stood
    run: Stood
    roll: Stood
    charge: Stood

    def of(self, part: str) -> Stood:
        """The spell that tells on a part: fuel, brakes and trim go by the last road use."""
        if part == "battery":
            return self.charge
        return self.run if part in BY_RUN else self.roll if part in BY_ROLL else self.road


def spells(fleet: Fleet, today: float, road: Stood, roll: Stood, since: float) -> Spells:
    """The spells of one car; ``road``, with its air, and ``roll`` by its evidence.

    From the day ``since`` on its log is whole: what it tells of then was the last time. What is not logged
    goes by the last road use, which warms the engine and charges the battery.
    """
    ran = float(np.fmax(fleet.last_full_warm, fleet.last_road_use)[0])
    rolled = float(np.fmax(fleet.last_moved, fleet.last_road_use)[0])
    ends = fleet.charges.day[fleet.charges.completed]
    charged = float(ends.max()) if ends.size else np.nan

    def spell(day: float, words: str) -> Stood:
        days = max(today - day, 0.0)
        return replace(road, shortest_days=days, longest_days=days, is_known=True, since=words)

    run = spell(ran, "its last warm run") if ran >= since else road
    charge = spell(charged, "its last charge") if charged >= since and not ran >= charged else run
    roll = replace(roll, damp_share=road.damp_share, conditions=road.conditions)
    return Spells(road, run, spell(rolled, "it last rolled") if rolled >= since else roll, charge)


def stood(
    fleet: Fleet, today: float, policy: Policy, late: Collection[str], road: Stood, put_away: PutAway
) -> Stood:
    """The stand since the last road use of one car, with the air and the conditions of it.

    ``late`` are the duties past their window. Where nobody knows how it stood before it came, the air of
    where it stands now speaks only once it has been there for a year.
    """
    conditions = {*put_away.conditions, *_kept(fleet, late), *_fuel(fleet, today, policy)}
    damp = put_away.damp_share
    if not _came_lately(fleet, today):
        conditions |= set(_place(fleet, today))
        damp = float(damp_shares(one_car(fleet), today, policy)[0]) if damp is None else damp
    return replace(
        road, damp_share=DAMP_UNKNOWN.value if damp is None else damp, conditions=frozenset(conditions)
    )


def _came_lately(fleet: Fleet, today: float) -> bool:
    """Whether most of its stand may have been elsewhere."""
    dormant = int(fleet.regime[0]) not in IN_CARE
    return dormant and not today - fleet.stored_since[0] >= YEAR_DAYS


def outlooks(
    fleet: Fleet, today: float, policy: Policy, spells: Spells, findings: Sequence[Finding] = ()
) -> tuple[SystemOutlook, ...]:
    """Every system that one car has, each by the standing that tells on it."""
    all_findings = (*findings, *_read(fleet, today, policy))
    by_spell = {
        spell: {each.system: each for each in outlook(spell, all_findings)}
        for spell in (spells.road, spells.run, spells.roll, spells.charge)
    }
    fitted = (part.name for part in SYSTEMS if part.name not in _not_fitted(fleet))
    return tuple(by_spell[spells.of(name)][name] for name in fitted)


def _read(fleet: Fleet, today: float, policy: Policy) -> Iterator[Finding]:
    """A battery that a reading found charged, for as long as one reading speaks."""
    state = known_state(fleet, today, policy)
    kind = KINDS[int(state.kind[0])] if state.kind[0] >= 0 else ""
    day, shown = float(state.day[0]), float(state.events.shown[state.newest[0]]) if kind else float("nan")
    if kind in (VOLTS, GRAVITY) and today - day <= READ_DAYS.value and state.soc[0] >= policy.recharge_soc:
        value = f"{shown:.2f} V" if kind == VOLTS else f"{shown:.3f}"
        yield Finding("battery", Seen.GOOD, f"{kind} {value} on {spoken(day)}")


def _not_fitted(fleet: Fleet) -> set[str]:
    """Parts that a car with this fuel system does not have; all are taken to be there where it is unknown."""
    code = int(fleet.fuel_system[0])
    if code == UNKNOWN:
        return set()
    name = FUEL_SYSTEMS[code]
    gone = set() if name == "carburettor" else {"carburettor"}
    return gone | ({"points"} if name in WITHOUT_POINTS else set())


def _kept(fleet: Fleet, late: Collection[str]) -> Iterator[str]:
    """What the keepers do for it."""
    regime, known = int(fleet.regime[0]), bool(len(fleet.charges.row)) or bool(len(fleet.readings.row))
    if regime == REGIMES.index("exercised") and not RUNS.intersection(late):
        yield "exercised"
    if regime == REGIMES.index("preserved") or _tagged(fleet, "engine_preserved"):
        yield "preserved"
    if fleet.on_maintainer[0] or (regime in IN_CARE and known and not CHARGES.intersection(late)):
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
