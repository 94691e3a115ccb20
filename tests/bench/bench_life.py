"""Cars with forty dated facts each, replayed: against one day at a time, by number of cars, and one car.

Not collected by pytest; ratios of processor time carry from machine to machine better than seconds do:

    uv run python -m tests.bench.bench_life           10,000 cars, one car, 100,000 against a million

What is replayed are the dates of the charge and of the fuel, which carry battery and tank from fact
to fact; the reference is that of ``bench_core``. Large fleets go by in blocks, each with its own facts, as
they would come from a database.
"""

import resource
import statistics
import sys
from dataclasses import replace
from time import process_time

import numpy as np

from scheduler.duties.battery import charge
from scheduler.duties.conditions import Charges, Fleet
from scheduler.duties.fuel import fuel_change
from scheduler.duties.policy import Policy
from scheduler.duties.table import forecast
from tests.bench import reference, reference_fuel
from tests.bench.fleets import TODAY, fleet_of, places

FACTS = 40
CARS, BLOCK, SIZES = 10_000, 10_000, (100_000, 1_000_000)
REFERENCE_CARS, ONE_CAR_RUNS = 40, 60
KIB_PER_MIB = 1024
GOAL_RATIO, GOAL_GROWTH, GOAL_MIB, GOAL_MS = 300, 1.15, 2048, 5.0
POLICY = Policy()


def processor_seconds(work) -> float:
    """Processor time of one run."""
    began = process_time()
    work()
    return process_time() - began


def with_facts(fleet: Fleet, seed: int) -> Fleet:
    """Earlier charges, so that each car has ``FACTS`` facts; the last charge stays the last."""
    random, n = np.random.default_rng(seed), len(fleet)
    had = np.bincount(fleet.charges.row, minlength=n) + np.bincount(fleet.fuel_events.row, minlength=n)
    row = np.repeat(np.arange(n), FACTS - had)
    day = TODAY - random.integers(260, 1500, row.size).astype(float)
    old = fleet.charges
    each = (np.concatenate(pair) for pair in ((old.row, row), (old.day, day), (old.until, day)))
    done = np.concatenate([old.completed, np.ones(row.size, bool)])
    return replace(fleet, charges=Charges(*each, done))


def replay(fleet: Fleet) -> None:
    """The two duties that the reference knows."""
    charge.window(fleet, TODAY, POLICY)
    fuel_change.window(fleet, TODAY, POLICY)


def reference_seconds() -> float:
    """Processor seconds a car of the plain reference."""
    fleet = with_facts(fleet_of(REFERENCE_CARS), 1)

    def plainly() -> None:
        for car in range(REFERENCE_CARS):
            reference.charge_dates(fleet, car, TODAY, POLICY)
            reference_fuel.fuel_dates(fleet, car, TODAY, POLICY)

    return processor_seconds(plainly) / REFERENCE_CARS


def microseconds_a_car(n: int) -> float:
    """Processor time a car of ``n`` cars, block by block; making the facts is not counted."""
    spent, sites = 0.0, places()
    for block in range(n // BLOCK):
        fleet = with_facts(fleet_of(BLOCK, seed=block, sites=sites), block)
        spent += processor_seconds(lambda fleet=fleet: replay(fleet))
    return spent / n * 1e6


def one_car_ms() -> float:
    """Processor time of all duties of one car after one more fact, once warm: the median, in ms."""
    car = with_facts(fleet_of(1, sites=places()[:1]), 1)
    forecast(car, TODAY, POLICY)
    runs = [replace(car, last_inspected=car.last_inspected - k) for k in range(ONE_CAR_RUNS)]
    return 1000 * statistics.median(
        processor_seconds(lambda one=one: forecast(one, TODAY, POLICY)) for one in runs
    )


def main() -> None:
    """Print each figure beside its goal."""
    ratio = reference_seconds() / (microseconds_a_car(CARS) / 1e6)
    sys.stdout.write(f"{CARS:,} cars, {FACTS} facts each: {ratio:,.0f} x the reference (goal {GOAL_RATIO})\n")
    sys.stdout.write(f"one car after one fact: {one_car_ms():.1f} ms (goal {GOAL_MS:g})\n")
    small, large = map(microseconds_a_car, SIZES)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / KIB_PER_MIB
    sys.stdout.write(
        f"{SIZES[1]:,} against {SIZES[0]:,} cars: {large:.0f} and {small:.0f} us a car, "
        f"{large / small:.2f} (goal {GOAL_GROWTH}), peak {peak:,.0f} MiB (goal {GOAL_MIB:,})\n"
    )


if __name__ == "__main__":
    main()
