"""A large invented fleet whose records the plain reference can follow: charges and fillings on record."""

from dataclasses import replace
from datetime import date

import numpy as np

from scheduler.duties.conditions import Charges, Fleet, FuelEvents
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.climate import from_normals
from scheduler.physics.fuel.fuels import FUELS
from tests.scheduler.blank import blank

TODAY = date(2026, 11, 25).toordinal()
FIRST = date(2020, 1, 1).toordinal()
DAYS = date(2033, 1, 1).toordinal() - FIRST
MEAN_C = np.array([-2, -1, 3, 8, 13, 16, 18, 17, 13, 8, 3, -1], float)
RH_PCT = np.array([88, 85, 79, 72, 70, 69, 70, 73, 79, 84, 88, 89], float)
FILLED, STABILISED = 0, 3


def places():
    """Six places: two climates under three kinds of shelter."""
    return tuple(
        from_normals(shelter, shelter, MEAN_C + k, MEAN_C + k - 5, MEAN_C + k + 6, RH_PCT, FIRST, DAYS)
        for k in (-18.0, 12.0)
        for shelter in ("open", "enclosed", "heated")
    )


def fleet_of(n: int, seed: int = 1, sites=None) -> Fleet:
    """``n`` varied cars, every kind of battery, fuel and tank, with what the record usually lacks."""
    random, sites = np.random.default_rng(seed), sites or places()

    def back(least, most):
        return TODAY - random.integers(least, most, n).astype(float)

    charged, filled, row = back(0, 250), back(10, 400), np.arange(n)
    dosed = np.flatnonzero(random.random(n) < 0.3)
    tank = random.uniform(30, 90, n)
    litres = np.concatenate([tank * random.uniform(0.1, 0.95, n), np.full(dosed.size, np.nan)])
    events = FuelEvents(
        np.concatenate([row, dosed]),
        np.concatenate([filled, np.minimum(filled[dosed] + 9, TODAY)]),
        np.concatenate([np.full(n, FILLED), np.full(dosed.size, STABILISED)]),
        litres,
        *(np.full(litres.size, np.nan) for _ in range(2)),
    )
    had = np.flatnonzero(random.random(n) < 0.8)
    return replace(
        blank(n, sites[0]),
        places=sites,
        place=random.integers(0, len(sites), n),
        regime=random.integers(0, 3, n),
        fuel_system=random.integers(0, 4, n),
        model_year=random.integers(1925, 2020, n).astype(float),
        stored_since=back(260, 1500),
        extraction=random.random(n) < 0.5,
        last_road_use=back(255, 700),
        last_full_warm=back(5, 300),
        last_moved=back(5, 200),
        last_attended=back(1, 40),
        last_inspected=back(1, 40),
        chemistry=random.integers(0, len(BATTERIES), n),
        capacity_ah=random.uniform(30, 110, n),
        battery_volts=random.choice([6.0, 12.0, 24.0], n),
        battery_made=back(700, 2200),
        drain_a=np.where(random.random(n) < 0.6, random.uniform(0.0, 0.08, n), np.nan),
        isolated=random.random(n) < 0.3,
        fuel=random.integers(0, len(FUELS), n),
        tank_litres=tank,
        tank_material=random.integers(0, 5, n),
        venting=random.integers(0, 3, n),
        fluid_changed=TODAY - random.integers(10, 1500, (n, 5)).astype(float),
        placard_kpa=random.uniform(160, 240, n),
        fuel_events=events,
        charges=Charges(had, charged[had], charged[had], np.ones(had.size, bool)),
    )
