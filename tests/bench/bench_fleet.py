"""How fast: a fleet's forecast against plain numpy, the due page against an empty page, in one run.

Not collected by pytest. Ratios carry from machine to machine better than seconds do:

    uv run python -m tests.bench.bench_fleet
"""

import os
import statistics
import sys
import tempfile
from dataclasses import replace
from time import perf_counter

import numpy as np

DAYS = 730
REPEATS = 5


def seconds(work):
    """The median of a few runs."""
    times = []
    for _ in range(REPEATS):
        began = perf_counter()
        work()
        times.append(perf_counter() - began)
    return statistics.median(times)


def say(text):
    sys.stdout.write(text + "\n")


def fleet_of(n, today):
    """``n`` cars, varied, in one unheated shed of a cool temperate year."""
    from scheduler.duties.conditions import Charges, FuelEvents
    from scheduler.physics.battery.batteries import BATTERIES
    from scheduler.physics.climate import from_normals
    from scheduler.physics.fuel.fuels import FUELS
    from tests.scheduler.blank import blank

    mean = np.array([2, 3, 5, 8, 12, 15, 17, 17, 14, 10, 6, 3], float)
    place = from_normals(
        "bench", "enclosed", mean, mean - 4, mean + 5, np.full(12, 78.0), int(today) - 3 * 365, 13 * 365
    )
    rng = np.random.default_rng(1904)
    row, ago = np.arange(n), lambda days: today - rng.uniform(1, days, n)
    charged, filled = ago(90), ago(400)
    return replace(
        blank(n, place),
        regime=np.zeros(n, int),
        fuel_system=rng.integers(0, 3, n),
        system_volts=np.full(n, 12.0),
        stored_since=ago(900),
        extraction=rng.random(n) < 0.5,
        last_full_warm=ago(80),
        last_moved=ago(80),
        last_inspected=ago(30),
        chemistry=rng.integers(0, len(BATTERIES) - 1, n),
        capacity_ah=rng.uniform(40, 100, n),
        battery_installed=ago(1500),
        fuel=rng.integers(0, len(FUELS) - 1, n),
        tank_litres=np.full(n, 50.0),
        venting=rng.integers(0, 3, n),
        placard_kpa=np.full(n, 200.0),
        charges=Charges(row, charged, charged, np.ones(n, bool)),
        fuel_events=FuelEvents(
            row, filled, np.zeros(n, int), rng.uniform(10, 40, n), np.full(n, 0.05), np.full(n, np.nan)
        ),
    )


def bench_forecast(n, today):
    from scheduler.duties.policy import Policy
    from scheduler.duties.table import forecast

    fleets = iter([fleet_of(n, today) for _ in range(REPEATS)])  # a new one each time: nothing is remembered
    rates = np.random.default_rng(1).uniform(0.001, 0.01, (n, DAYS))
    plain = seconds(lambda: np.exp(-np.cumsum(rates, axis=1)).min(axis=1))
    ours = seconds(lambda: forecast(next(fleets), today, Policy()))
    say(
        f"forecast of {n:6d} cars: {ours:7.3f} s, {1e6 * ours / n:6.1f} µs a car, "
        f"{ours / plain:5.1f} × numpy's exp of a cumulative sum over {DAYS} days a car ({plain:.3f} s)"
    )


def bench_due_page():
    from django.core.management import call_command
    from django.http import HttpResponse
    from django.test import Client, override_settings
    from django.urls import path
    from django.utils import timezone

    from collection import demo, urls
    from collection.models import Person

    call_command("migrate", verbosity=0)
    call_command("collectstatic", interactive=False, verbosity=0)
    demo.build(timezone.now())
    urls.urlpatterns.append(path("empty/", lambda _request: HttpResponse("")))
    client = Client()
    client.force_login(Person.objects.get(email="manager@kaldmere.example"))
    with override_settings(ALLOWED_HOSTS=["testserver"]):
        for address in ("/empty/", "/due/"):
            assert client.get(address).status_code == 200, address
        empty, due = seconds(lambda: client.get("/empty/")), seconds(lambda: client.get("/due/"))
    say(f"due page of 41 cars: {1e3 * due:.0f} ms, {due / empty:.0f} × an empty page ({1e3 * empty:.1f} ms)")


if __name__ == "__main__":
    import django
    from django.utils import timezone

    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"LONGSTAND_DATA": folder, "DJANGO_SETTINGS_MODULE": "collection.settings"}
        django.setup()
        for size in (1, 1_000, 10_000):
            bench_forecast(size, float(timezone.localdate().toordinal()))
        bench_due_page()
