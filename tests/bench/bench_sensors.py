"""What a reading of a sensor costs beside an entry of the care log, and what a year of them weighs; by hand.

uv run python -m tests.bench.bench_sensors
"""

import os
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from time import process_time

NOW = datetime(2026, 11, 25, 10, tzinfo=UTC)
STEP, A_DAY = timedelta(minutes=10), 144
DAYS, CARS, ENTRIES = 60, 40, 20


def main() -> None:
    """Print the ratio of a reading to an entry, and the weight of 40 cars in a year, from 60 days of one."""
    with TemporaryDirectory() as folder:
        os.environ |= {"LONGSTAND_DATA": folder, "DJANGO_SETTINGS_MODULE": "collection.settings"}
        import django
        from django.core.management import call_command

        django.setup()
        call_command("migrate", verbosity=0)
        _measure(Path(folder) / "longstand.sqlite3")


def _measure(file: Path) -> None:
    from django.db import connection

    from collection.care.actions.care import log_entry
    from collection.sensors.actions.meaning import make_sense
    from collection.sensors.actions.readings import Sent, take_readings
    from collection.sensors.actions.tokens import make_sensor
    from tests.barn import make_barn, make_car, make_person

    barn = make_barn("Bench")
    by = make_person("bench@barn.example", barn, "manager")
    owner = barn.owners.create(name="Owner")
    car = make_car(barn, owner, barn.sites.get().buildings.first().bays.first())
    begin = NOW - timedelta(days=DAYS)
    sensor, _ = make_sensor(organisation=barn, place=car, name="Volts", by=by, now=begin)

    def weigh() -> int:
        with connection.cursor() as cursor:
            cursor.execute("VACUUM")
        return file.stat().st_size

    began = process_time()
    for number in range(ENTRIES):
        log_entry(
            vehicle=car, kind="note", done_at=None, by=by, idempotency_key=f"{number}", now=NOW, note="Seen."
        )
    an_entry = (process_time() - began) / ENTRIES
    before, took = weigh(), 0.0
    for day in range(DAYS):
        moments = [begin + timedelta(days=day) + STEP * n for n in range(A_DAY)]
        batch = [
            Sent(at, quantity, value + 0.001 * n)
            for n, at in enumerate(moments)
            for quantity, value in (("volts", 12.4), ("temperature", 8.0))
        ]
        began = process_time()
        take_readings(sensor=sensor, batch=batch, now=moments[-1])
        make_sense(sensor, now=moments[-1])
        took += process_time() - began
    a_reading = took / (DAYS * A_DAY * 2)
    years = (weigh() - before) / DAYS * 365 * CARS / 1e6
    sys.stdout.write(
        f"an entry {1e3 * an_entry:.1f} ms of processor, a reading taken and made sense of"
        f" {1e3 * a_reading:.3f} ms: 1/{an_entry / a_reading:.0f} of it\n"
        f"{CARS} cars, two values every ten minutes: {years:.0f} MB a year\n"
    )


if __name__ == "__main__":
    main()
