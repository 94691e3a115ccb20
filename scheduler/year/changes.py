"""What may be kept otherwise, and the fleet as it would then stand on the first day.

Only what is named changes. The change itself is made on the first day and is not counted as work:
a new battery is fitted full, a maintainer is plugged in, a tank is emptied and filled afresh.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from scheduler.duties.conditions import FUEL_EVENTS, REGIMES, TANK_MATERIALS, Charges, Fleet, Floats, Ints
from scheduler.duties.fuel.tanks import ASSUMED_TANK_LITRES, FULL_SHARE, known_fuel
from scheduler.duties.policy import Policy
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.climate import Place
from scheduler.physics.fuel.fuels import CODES, IS_DIESEL
from scheduler.physics.materials import position
from scheduler.vocabulary.errors import BadInput
from scheduler.year.tables import add_charges, add_fuel

WHEN_DUE, EACH_FILL, NEVER = STABILISE = ("when_due", "each_fill", "never")


@dataclass(frozen=True)
class Practice:
    """How fuel is kept through the year: the share of the tank that a refill reaches, and the dose."""

    fill_share: float = FULL_SHARE.value
    stabilise: str = WHEN_DUE


@dataclass(frozen=True)
class Changes:
    """What would be otherwise; None leaves a thing as it is on each car.

    ``places``: the air at each of the fleet's places, in their order (another climate, another
    shelter). ``chemistry``, ``regime`` and ``grade`` are names in the core's tables;
    ``fill_share`` 0 to 1 of the tank; ``stabilise`` one of ``STABILISE``; ``thresholds`` by name.
    """

    places: tuple[Place, ...] | None = None
    chemistry: str | None = None
    isolated: bool | None = None
    maintainer: bool | None = None
    regime: str | None = None
    grade: str | None = None
    fill_share: float | None = None
    stabilise: str | None = None
    thresholds: Mapping[str, float] = field(default_factory=dict)


def practice_of(changes: Changes) -> Practice:
    """The fuel practice that the changes leave, from today's where they say nothing.

    BadInput: a share of the tank not above 0 and up to 1, a way to stabilise that is none.
    """
    now = Practice()
    share = now.fill_share if changes.fill_share is None else changes.fill_share
    stabilise = now.stabilise if changes.stabilise is None else changes.stabilise
    if not 0.0 < share <= 1.0:
        raise BadInput("fill_share", f"{share:g} is not above 0 and up to 1")
    if stabilise not in STABILISE:
        raise BadInput("stabilise", f"{stabilise!r} is none of {', '.join(STABILISE)}")
    return Practice(share, stabilise)


def policy_with(policy: Policy, changes: Changes) -> Policy:
    """The thresholds with the changed ones in place; BadInput names one that there is not."""
    for name in changes.thresholds:
        if name not in vars(policy):
            raise BadInput("thresholds", f"{name!r} is not a threshold")
    return replace(policy, **changes.thresholds)


def changed(fleet: Fleet, changes: Changes, today: float) -> Fleet:
    """The fleet as it would stand on ``today``."""
    fleet = _moved(fleet, changes)
    fleet = _with_battery(fleet, changes, today)
    fleet = _with_maintainer(fleet, changes, today)
    return _with_fuel(fleet, changes, today)


def _moved(fleet: Fleet, changes: Changes) -> Fleet:
    places = fleet.places if changes.places is None else changes.places
    if len(places) != len(fleet.places):
        raise BadInput("places", f"are {len(places)}, the fleet has {len(fleet.places)}")
    fleet = replace(fleet, places=places)
    if changes.regime is None:
        return fleet
    if changes.regime not in REGIMES:
        raise BadInput("regime", f"{changes.regime!r} is none of {', '.join(REGIMES)}")
    return replace(fleet, regime=np.full(len(fleet), REGIMES.index(changes.regime)))


def _with_battery(fleet: Fleet, changes: Changes, today: float) -> Fleet:
    if changes.isolated is not None:
        fleet = replace(fleet, isolated=np.full(len(fleet), changes.isolated))
    if changes.chemistry is None:
        return fleet
    rows, day = np.arange(len(fleet)), np.full(len(fleet), today)
    new = replace(
        fleet,
        chemistry=np.full(len(fleet), position(BATTERIES, changes.chemistry)),
        battery_made=day,
        battery_installed=day,
        full_sg=np.full(len(fleet), np.nan),
    )
    return add_charges(new, rows, day, day)


def _with_maintainer(fleet: Fleet, changes: Changes, today: float) -> Fleet:
    if changes.maintainer is None:
        return fleet
    n, table = len(fleet), fleet.charges
    running = ~(table.until <= today)
    if not changes.maintainer:
        ended = Charges(table.row, table.day, np.where(running, today, table.until), table.completed)
        was_on = np.flatnonzero(fleet.on_maintainer)
        off = replace(fleet, charges=ended, on_maintainer=np.zeros(n, bool))
        return add_charges(off, was_on, np.full(was_on.size, today), np.full(was_on.size, today))
    rows = np.setdiff1d(np.flatnonzero(~fleet.on_maintainer), table.row[running])
    plugged = add_charges(fleet, rows, np.full(rows.size, today), np.full(rows.size, np.nan))
    return replace(plugged, on_maintainer=np.ones(n, bool))


def _with_fuel(fleet: Fleet, changes: Changes, today: float) -> Fleet:
    practice = practice_of(changes)
    if changes.grade is not None or changes.fill_share is not None:
        fleet = _regraded(fleet, changes.grade)
        fleet = filled(fleet, np.arange(len(fleet)), np.full(len(fleet), today), practice)
    elif practice.stabilise == EACH_FILL:
        fleet = dosed(fleet, np.arange(len(fleet)), np.full(len(fleet), today))
    return fleet


def _regraded(fleet: Fleet, grade: str | None) -> Fleet:
    """Another grade of the same family: no petrol for a diesel, and the other way round."""
    if grade is None:
        return fleet
    if grade not in CODES:
        raise BadInput("grade", f"{grade!r} is none of {', '.join(CODES)}")
    fuel = known_fuel(fleet)
    suits = IS_DIESEL[fuel] == IS_DIESEL[CODES[grade]]
    return replace(fleet, fuel=np.where(suits, CODES[grade], fuel))


def tank_litres(fleet: Fleet, rows: Ints) -> Floats:
    """The tanks of ``rows`` (k,), an assumed one where none is recorded."""
    litres = fleet.tank_litres[rows]
    return np.where(litres > 0, litres, ASSUMED_TANK_LITRES.value)


def filled(fleet: Fleet, rows: Ints, day: Floats, practice: Practice) -> Fleet:
    """Tanks of ``rows`` (k,) emptied and filled afresh on ``day`` (k,), and dosed if that is the practice."""
    litres = tank_litres(fleet, rows) * practice.fill_share
    full = add_fuel(fleet, rows, day, FUEL_EVENTS.index("filled"), litres, _blend(fleet, rows))
    return dosed(full, rows, day) if practice.stabilise == EACH_FILL else full


def _blend(fleet: Fleet, rows: Ints) -> Floats:
    """Ethanol that is filled in (k,): none into glass fibre, which it softens; else the grade's own."""
    return np.where(fleet.tank_material[rows] == TANK_MATERIALS.index("grp"), 0.0, np.nan)


def dosed(fleet: Fleet, rows: Ints, day: Floats) -> Fleet:
    """Stabiliser into the tanks of ``rows`` on ``day`` (k,); whether it serves the core knows."""
    return add_fuel(fleet, rows, day, FUEL_EVENTS.index("stabilised"), np.full(rows.size, np.nan))
