"""How far one machine goes on PostgreSQL: fleets recomputed, entries logged, room taken. By hand:

    uv run python -m tests.bench.bench_hosts [CARS ...]

Recomputing is told as a ratio to writing the same computed rows and nothing else, an entry as a ratio to
an empty page, each in the same run: ratios carry from machine to machine better than seconds do.
"""

import os
import resource
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter, process_time

ENTRIES = 40  # a car: three years of a barn that writes down a charge, a run or a look every four weeks
PROCESSES = (1, 2)
LOGGED = 100
TABLES = ("vehicle", "battery", "fuel", "fluid", "tyre", "lastuse", "entry", "reading", "link", "dutyrow")


def say(text):
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def timed(work):
    began = perf_counter()
    work()
    return perf_counter() - began


def only_writing(barn):
    """Seconds for replacing the computed rows by the same rows, from memory."""
    from collection.models import DutyRow

    rows = list(DutyRow.objects.filter(vehicle__organisation=barn))

    def write():
        for start in range(0, len(rows), 1200):
            part = rows[start : start + 1200]
            DutyRow.objects.filter(pk__in=[row.pk for row in part]).delete()
            for row in part:
                row.pk = None
            DutyRow.objects.bulk_create(part, batch_size=1000)

    return timed(write)


def recomputed(barn, processes):
    """Seconds that so many processes need for the whole organisation, started and warm."""
    from django.utils import timezone

    from collection.life.fleet_run import begin_run

    helpers = [
        subprocess.Popen(
            [sys.executable, "-m", "tests.bench.bench_hosts", "--help-with-runs"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for _ in range(processes)
    ]
    assert [helper.stdout.readline() for helper in helpers] == ["ready\n"] * processes
    run = begin_run(barn.pk, trigger="bench", now=timezone.now())

    def go():
        for helper in helpers:
            helper.stdin.write(f"{run.pk}\n")
            helper.stdin.flush()
        for helper in helpers:
            helper.stdout.readline()

    took = timed(go)
    memory = [int(helper.stdout.readline()) for helper in helpers]
    busy = sum(float(helper.stdout.readline()) for helper in helpers)
    for helper in helpers:
        helper.communicate()
    run.refresh_from_db()
    assert (run.state, run.errors) == ("done", [])
    return took, max(memory) / 1024, busy


def help_with_runs():
    """A worker of the bench: says when it is ready, works on the run it is told, says what that took."""
    from datetime import timedelta

    from django.utils import timezone

    from collection.life.fleet_run import work_on_any
    from collection.models import Organisation

    Organisation.objects.exists()
    say("ready")
    today = timezone.localdate()
    work_on_any(int(input()), lambda _: today, until=timezone.now() + timedelta(days=1))
    say("done")
    used = resource.getrusage(resource.RUSAGE_SELF)
    status = dict(line.split(":", 1) for line in Path("/proc/self/status").read_text().splitlines())
    say(status["VmHWM"].split()[0])  # ru_maxrss would be that of the process that began this one
    say(str(used.ru_utime + used.ru_stime))


def bench_recompute(cars):
    from django.db import connection
    from django.utils import timezone

    from tests.hosts.fleet import make_organisation

    before = sizes(connection)
    barn = make_organisation(f"Bench {cars}", cars, today=timezone.localdate(), entries=ENTRIES)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    for processes in PROCESSES:
        took, megabytes, busy = recomputed(barn, processes)
        writing = only_writing(barn)
        say(
            f"recompute of {cars:6d} cars by {processes}: {took:7.1f} s, {cars / took:6.0f} cars/s, "
            f"{took / writing:4.1f} × only writing its rows ({writing:.1f} s), "
            f"{1e3 * busy / cars:.1f} ms of processor a car, {megabytes:.0f} MB a process"
        )
    after = sizes(connection)
    grown = {name: (after[name] - before[name]) / cars for name in TABLES}
    say(
        f"room a car: {sum(grown.values()) / 1024:.1f} kB "
        + " ".join(f"{k} {v:.0f}" for k, v in grown.items())
    )
    return barn


def sizes(connection):
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT substr(relname, 12), pg_total_relation_size(oid) FROM pg_class"
            " WHERE relkind = 'r' AND relname LIKE 'collection\\_%%'"
        )
        return dict(cursor.fetchall())


def bench_entries(barn):
    """One entry after the other as an action, with its chain and its car's new dates, each committed."""
    from django.http import HttpResponse
    from django.test import Client, override_settings
    from django.urls import path
    from django.utils import timezone

    from collection import urls
    from collection.care.actions.care import log_entry

    keeper, cars = barn.memberships.get().person, list(barn.vehicles.order_by("pk")[:LOGGED])
    urls.urlpatterns.append(path("empty/", lambda _request: HttpResponse("")))
    client = Client()
    client.force_login(keeper)

    def log(car):
        now = timezone.now()
        key = f"bench-{car.pk}"
        log_entry(
            vehicle=car,
            kind="charge",
            done_at=now,
            by=keeper,
            idempotency_key=key,
            now=now,
            details={"completed": True},
        )

    def look():
        assert client.get("/empty/").status_code == 200

    with override_settings(ALLOWED_HOSTS=["testserver"]):
        look()
        times = [(timed(look), timed(lambda car=car: log(car))) for car in cars]  # in turn: the same weather
    began = process_time()
    for car in barn.vehicles.order_by("pk")[LOGGED : 2 * LOGGED]:
        log(car)
    busy = (process_time() - began) / LOGGED
    empty, entry = (statistics.median(column) for column in zip(*times, strict=True))
    say(
        f"an entry: {1e3 * busy:.1f} ms of processor, "
        f"{entry / empty:.1f} × an empty page ({1e3 * empty:.1f} ms)"
    )


if __name__ == "__main__":
    import django

    os.environ["DJANGO_SETTINGS_MODULE"] = "collection.settings"
    if sys.argv[1:] == ["--help-with-runs"]:
        django.setup()
        help_with_runs()
    else:
        from tests.postgresql import postgresql

        with postgresql() as address, tempfile.TemporaryDirectory() as folder:
            os.environ |= {"LONGSTAND_DATABASE": address, "LONGSTAND_DATA": folder}
            django.setup()
            from django.core.management import call_command

            call_command("migrate", verbosity=0)
            for size in map(int, sys.argv[1:] or ("1000", "10000")):
                bench = bench_recompute(size)
            bench_entries(bench)
