"""Petrol that ages by a truth of its own, in tanks of which not all is written down; the score of the dates.

Nothing that is measured at a car tells how far its fuel has aged, so readings teach nothing here: the score
after any number of them is that of what the record says.
"""

from dataclasses import dataclass, replace

import numpy as np

from scheduler.duties.conditions import FUEL_EVENTS, FUEL_SYSTEMS, VENTINGS, FuelEvents
from scheduler.duties.fuel.limits import OXIDATION
from scheduler.duties.fuel.outlook import fuel_outlook
from scheduler.duties.fuel.state import LIKELY, life_days
from scheduler.duties.policy import Policy
from scheduler.physics.fuel.fuels import CODES
from scheduler.physics.fuel.oxidation import ageing_rate
from tests.scheduler.batteries import TODAY, steady
from tests.scheduler.blank import blank
from tests.scheduler.worlds.score import Score, score_dates

POLICY = Policy()
TEMP_C, TANK_LITRES = 14.0, 60.0
FILLED_AGO, ADDED_AGO = 60.0, 20.0


@dataclass(frozen=True, kw_only=True)
class World:
    """``life``: times the table's, middle and spread of its logarithm; ``warmer_k``: of the tank than the
    place; ``unwritten``: share of tanks whose topping up nobody wrote down; ``pump_days``: greatest age when
    bought."""

    name: str
    life: float = 1.0
    life_spread: float = 0.25
    warmer_k: float = 0.0
    unwritten: float = 0.0
    pump_days: float = 30.0


WORLDS = (
    World(name="as tabled"),
    World(name="lives shorter by a quarter", life=0.75),
    World(name="tanks warmer than the place", warmer_k=4.0),
    World(name="top-ups not written down", unwritten=0.6),
    World(name="old when bought", pump_days=60.0),
)


def score(world: World, readings: int, n: int = 200, seed: int = 1) -> Score:
    """The score of the day on which gum has spoilt the fuel; ``readings`` are of no help (see the module)."""
    random = np.random.default_rng(seed)
    filled, added = random.uniform(15.0, 40.0, n), random.uniform(5.0, 15.0, n)
    written = random.random(n) >= world.unwritten
    fleet = _tanks(filled, np.where(written, added, np.nan))
    outlook = fuel_outlook(fleet, TODAY, POLICY)
    state, days = outlook.now.state, outlook.days[OXIDATION]
    slow, likely, fast = days
    life = life_days(state, outlook.now.tanks)[LIKELY] * world.life
    life = life * np.exp(random.normal(0.0, world.life_spread, n))
    a_day = float(ageing_rate(TEMP_C + world.warmer_k)) / life
    bought = random.uniform(0.0, world.pump_days, n) / life
    used = (filled * (bought + a_day * (FILLED_AGO - ADDED_AGO)) + added * bought) / (filled + added)
    truth = TODAY - ADDED_AGO + np.maximum(1.0 - used, 0.0) / a_day
    return score_dates(slow, likely, fast, truth, TODAY)


def _tanks(filled, added):
    """Capped carburettor tanks of E5 petrol: filled, and topped up where litres are written (NaN: not)."""
    n = filled.size
    (topped,) = np.nonzero(~np.isnan(added))
    row = np.concatenate([np.arange(n), topped])
    day = TODAY - np.concatenate([np.full(n, FILLED_AGO), np.full(topped.size, ADDED_AGO)])
    kind = np.repeat([FUEL_EVENTS.index("filled"), FUEL_EVENTS.index("added")], [n, topped.size])
    litres = np.concatenate([filled, added[topped]])
    events = FuelEvents(row, day, kind, litres, np.full(row.size, 0.05), np.full(row.size, np.nan))
    return replace(
        blank(n, steady(TEMP_C)),
        fuel=np.full(n, CODES["petrol_e5"]),
        fuel_system=np.full(n, FUEL_SYSTEMS.index("carburettor")),
        venting=np.full(n, VENTINGS.index("capped")),
        tank_litres=np.full(n, TANK_LITRES),
        fuel_events=events,
    )
