"""How fast the core is, against one car worked out one day at a time, in one run.

Not collected by pytest. Ratios carry from machine to machine better than seconds do:

    uv run python -m tests.bench.bench_core

The reference (``reference``, ``reference_fuel``) gives the dates of the charge and of the fuel of a
few cars; its time a car is scaled to each size. Beside it stands a kinder reference that keeps the
daily rates of self-discharge, wear and fuel ageing of each place from car to car. The core is timed
cold, each size in a process of its own, with the places' figures still to be worked out, on the same
two duties and on all twelve; the peak of memory is that of the whole process, the fleet with its
record and the windows of all duties in it.
"""

import json
import math
import resource
import statistics
import subprocess
import sys
from dataclasses import replace
from functools import cache
from time import process_time

import numpy as np

from scheduler.duties.battery import charge
from scheduler.duties.fuel import fuel_change
from scheduler.duties.policy import Policy
from scheduler.duties.table import BLOCK, forecast
from scheduler.vocabulary.systems import SYSTEMS
from tests.bench import reference, reference_fuel
from tests.bench.fleets import TODAY, fleet_of, places

SIZES = (1_000, 10_000, 100_000, 1_000_000)
REFERENCE_CARS = 40
ONE_CAR_RUNS = 60
KIB_PER_MIB = 1024
GOAL_RATIO, GOAL_MIB, GOAL_MS, GOAL_FLOORS = 500, 2048, 5.0, 8.0
FACT_COLUMNS = ("fluid_changed", "battery_made", "battery_installed", "tyre_made", "stored_since")
POLICY = Policy()


def say(line: str) -> None:
    """A line at once, for whoever waits."""
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def seconds(work) -> float:
    """Seconds of the processor that one run takes, whatever else the machine does."""
    began = process_time()
    work()
    return process_time() - began


def reference_seconds() -> float:
    """Seconds a car of the plain reference, over a few varied cars."""
    fleet = fleet_of(REFERENCE_CARS)

    def plainly() -> None:
        for car in range(REFERENCE_CARS):
            reference.charge_dates(fleet, car, TODAY, POLICY)
            reference_fuel.fuel_dates(fleet, car, TODAY, POLICY)

    return seconds(plainly) / REFERENCE_CARS


def kinder_reference_seconds() -> float:
    """The same where rates averaged over a day are worked out once, and only looked up after that."""
    plain = reference.mean_of
    kept = cache(plain)
    reference.mean_of = reference_fuel.mean_of = kept
    try:
        reference_seconds()  # fills what is kept
        return reference_seconds()
    finally:
        reference.mean_of = reference_fuel.mean_of = plain


def two_duties(fleet) -> None:
    """The duties that the reference knows, in the blocks in which ``forecast`` goes."""
    for start in range(0, len(fleet), BLOCK):
        part = fleet.take(np.arange(start, min(start + BLOCK, len(fleet))))
        charge.window(part, TODAY, POLICY)
        fuel_change.window(part, TODAY, POLICY)


def floor_seconds(fleet) -> float:
    """The least that any such forecast could cost: one exp and one multiply-add per car, fact and system.

    Facts are the rows of the fleet's tables, and the days in its columns that care or the record moves.
    """
    tables = (fleet.readings, fleet.fuel_events, fleet.charges, fleet.put_in)
    dated = [name for name in vars(fleet) if name.startswith("last_")] + list(FACT_COLUMNS)
    facts = sum(table.row.size for table in tables)
    facts += sum(int(np.isfinite(getattr(fleet, name)).sum()) for name in dated)
    x = np.random.default_rng(0).random(facts)

    def once() -> None:
        for _ in SYSTEMS:
            for start in range(0, facts, BLOCK):
                np.exp(x[start : start + BLOCK]) * 2.0 + 1.0

    return seconds(once)


def measure(n: int) -> dict[str, float]:
    """In a process of its own: times of a fleet of ``n`` and the peak of memory."""
    fleet = fleet_of(n)
    two = seconds(lambda: two_duties(fleet))
    again = replace(fleet)  # another fleet to the core: nothing of the first answer is used
    every = seconds(lambda: forecast(again, TODAY, POLICY))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / KIB_PER_MIB
    return {"two": two, "every": every, "mib": peak, "floor": floor_seconds(fleet)}


def one_car_ms() -> tuple[float, float, float]:
    """All twelve duties of one car after one entry, in ms: median, least, first time in a process."""
    fleet = fleet_of(1, sites=places()[:1])
    first = seconds(lambda: forecast(fleet, TODAY, POLICY))
    runs = [replace(fleet, last_inspected=fleet.last_inspected - k) for k in range(ONE_CAR_RUNS)]
    times = [seconds(lambda car=car: forecast(car, TODAY, POLICY)) for car in runs]
    return statistics.median(times) * 1000, min(times) * 1000, first * 1000


def growth(sizes: list[int], times: list[float]) -> float:
    """The exponent of time in size, by least squares on the logarithms."""
    x, y = [math.log(n) for n in sizes], [math.log(t) for t in times]
    mean_x, mean_y = statistics.fmean(x), statistics.fmean(y)
    rise = sum((a - mean_x) * (b - mean_y) for a, b in zip(x, y, strict=True))
    return rise / sum((a - mean_x) ** 2 for a in x)


def own_process(n: int) -> dict[str, float]:
    """``measure`` in a new interpreter, so that its peak of memory is its own."""
    command = [sys.executable, "-m", "tests.bench.bench_core", str(n)]
    done = subprocess.run(command, check=True, capture_output=True, text=True)  # noqa: S603 - ourselves
    return json.loads(done.stdout)


def main() -> None:
    """Print the ratios."""
    plain, kinder = reference_seconds(), kinder_reference_seconds()
    times = f"{plain * 1000:.1f} ms a car, kinder {kinder * 1000:.1f} ms"
    say(f"reference: {times}; measured on {REFERENCE_CARS} cars, scaled to each size")
    say(
        f"{'cars':>9} {'2 duties':>9} {'ratio':>7} {'kinder':>7} {'12 duties':>10} {'floors':>7} "
        f"{'peak MiB':>9}"
    )
    found = {}
    for n in SIZES:
        got = found[n] = own_process(n)
        ratio, kinder_ratio = plain * n / got["two"], kinder * n / got["two"]
        say(
            f"{n:>9,} {got['two']:>8.2f}s {ratio:>7,.0f} {kinder_ratio:>7,.0f} {got['every']:>9.2f}s "
            f"{got['every'] / got['floor']:>7.0f} {got['mib']:>9,.0f}"
        )
    for name, words in (("two", "2 duties"), ("every", "12 duties")):
        whole = growth(list(SIZES), [found[n][name] for n in SIZES])
        last = growth(list(SIZES[-2:]), [found[n][name] for n in SIZES[-2:]])
        say(f"growth of {words}: time ~ cars^{whole:.2f} over all sizes, cars^{last:.2f} over the last step")
    median, least, cold = one_car_ms()
    say(f"one car after one entry, 12 duties: {median:.1f} ms (least {least:.1f}, first of all {cold:.0f})")
    goals = f"ratio {GOAL_RATIO} at 100,000; cars^1; {GOAL_FLOORS:g} floors; {GOAL_MIB} MiB at 1,000,000"
    say(f"goals: {goals}; {GOAL_MS:g} ms")
    say("floor: one exp and one multiply-add per car, fact and system")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        say(json.dumps(measure(int(sys.argv[1]))))
    else:
        main()
