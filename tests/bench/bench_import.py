"""A long care log comes in and goes again while another process writes: how long that one waits; run by hand.

uv run python -m tests.bench.bench_import [rows]
"""

import json
import os
import shutil
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

CARS, ROWS = 40, 12_000
DONE = "done"  # a file that ends the writer


def _begin():
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "collection.settings")
    django.setup()


def build():
    """A barn with cars and a manager, and one car more that somebody else works on."""
    _begin()
    from collection.models import Owner
    from collection.operations.installing import prepare
    from tests.barn import make_barn, make_car, make_person

    prepare()
    barn = make_barn("Hollin Barn")
    make_person("keeper@hollin.example", barn, "manager")
    owner = Owner.objects.create(organisation=barn, name="Ada Wren")
    for n in range(CARS):
        make_car(barn, owner, registration=f"HB {n}", model=f"No. {n}")
    make_car(barn, owner, model="Of the other")


def table(rows):
    """Volts of each car in turn, every tenth row with a note."""
    start = datetime(2014, 1, 1, 9, tzinfo=UTC)
    lines = ["Reg,Date,Volts,Remarks"]
    for n in range(rows):
        moment = (start + timedelta(hours=9 * n)).strftime("%d/%m/%Y %H:%M")
        lines.append(f"HB {n % CARS},{moment},{12 + n % 9 / 10},{'seen' if n % 10 == 0 else ''}")
    return "\n".join(lines).encode()


def bring_in(rows):
    """Read, check, bring in and take back; seconds of each."""
    _begin()
    from django.utils import timezone

    from collection.models import Organisation, Person
    from collection.spreadsheets.actions import incoming, jobs

    barn, keeper, took = Organisation.objects.get(), Person.objects.get(), {}
    began = time.perf_counter()
    row = incoming.take_in(
        organisation=barn, by=keeper, kind="log", name="log.csv", data=table(rows), now=timezone.now()
    )
    took["read"] = time.perf_counter() - began
    for step, state in (("check", "checked"), ("import", "imported"), ("undo", "undone")):
        began, worked = time.perf_counter(), time.process_time()
        jobs.start(row=row, step=step, by=keeper, clock=timezone.now, here=True)
        row.refresh_from_db()
        assert row.state == state, (row.state, row.problem, row.report)
        took[step] = time.perf_counter() - began
        took[f"{step}, of the processor"] = time.process_time() - worked
    print(json.dumps(took))  # noqa: T201 - to the process that began it


def write(folder):
    """Write a note every tenth of a second until the other is done; the seconds that each took."""
    _begin()
    from django.utils import timezone

    from collection.care.actions.care import log_entry
    from collection.models import Person, Vehicle

    car, keeper, took = Vehicle.objects.get(model="Of the other"), Person.objects.get(), []
    while not (folder / DONE).exists() or not took:
        began = time.perf_counter()
        log_entry(
            vehicle=car,
            kind="note",
            done_at=None,
            by=keeper,
            idempotency_key=f"n{len(took)}",
            now=timezone.now(),
            note="Seen",
        )
        took.append(time.perf_counter() - began)
        time.sleep(0.1)
    print(json.dumps(took))  # noqa: T201 - to the process that began it


def _start(folder, *arguments):
    return subprocess.Popen(  # noqa: S603 - ourselves
        [sys.executable, "-m", "tests.bench.bench_import", *map(str, arguments)],
        env=os.environ | {"LONGSTAND_DATA": str(folder)},
        stdout=subprocess.PIPE,
        text=True,
    )


def _said(process):
    said, _ = process.communicate()
    assert process.returncode == 0
    return json.loads(said.splitlines()[-1])


def measure(folder, rows):
    """Seconds of each step, and of each write beside them."""
    process = _start(folder, "build")
    process.communicate()
    assert process.returncode == 0
    writer = _start(folder, "write", folder)
    try:
        steps = _said(_start(folder, "bring_in", rows))
    finally:
        (folder / DONE).touch()
        waits = _said(writer)
    return steps, waits


def main(rows):
    """Print both."""
    from tests.databases import migrated_file

    with TemporaryDirectory() as name:
        folder = Path(name)
        shutil.copyfile(migrated_file(), folder / "longstand.sqlite3")
        steps, waits = measure(folder, rows)
    print(f"{rows:,} rows: " + ", ".join(f"{step} {took:.1f} s" for step, took in steps.items()))  # noqa: T201
    middle = sorted(waits)[len(waits) // 2]
    print(f"{len(waits)} writes beside it: longest {max(waits):.2f} s, median {middle:.2f} s")  # noqa: T201


if __name__ == "__main__":
    match sys.argv[1:]:
        case ["build"]:
            build()
        case ["write", folder]:
            write(Path(folder))
        case ["bring_in", rows]:
            bring_in(int(rows))
        case rows:
            _begin()
            main(int(rows[0]) if rows else ROWS)
