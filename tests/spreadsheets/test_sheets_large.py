"""Many rows through the worker's own job: how far it is can be seen, and all of it is stored.

LONGSTAND_ROWS sets how many:

    LONGSTAND_ROWS=10000 uv run pytest -s tests/spreadsheets/test_sheets_large.py
"""

import os
from datetime import UTC, datetime, timedelta
from time import perf_counter

import pytest
from django.db import connection

from collection.chain.verify import verify
from collection.host.statistics import count_rows_anew
from collection.models import Entry, Reading, SheetImport, Vehicle
from collection.models.care import readings_of
from collection.proof.actions import export_history
from collection.spreadsheets.actions import incoming, jobs
from collection.tasks import work_on_sheet
from tests.barn import make_car
from tests.spreadsheets.tables_of import NOW, clock, csv_of

ROWS, CARS = int(os.environ.get("LONGSTAND_ROWS", "1000")), 40
MEASURED = ROWS + ROWS // 4  # each row has volts, each fourth a pressure too


def statistics_of(model):
    """Of how many columns the database knows what stands in them."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM pg_stats WHERE tablename = %s", [model._meta.db_table])
        return cursor.fetchone()[0]


@pytest.mark.django_db
def test_many_rows_come_in_through_the_job(barn, keeper, car, monkeypatch, capsys):
    cars = [make_car(barn, car.owner, registration=f"HB {n}", model=f"No. {n}") for n in range(CARS)]
    start = datetime(2016, 1, 1, 9, tzinfo=UTC)
    rows = [["Reg", "Date", "Volts", "FL psi", "Remarks"]] + [
        [
            f"HB {n % CARS}",
            (start + timedelta(hours=9 * n)).strftime("%d/%m/%Y %H:%M"),
            f"{12 + n % 9 / 10}",
            26 if n % 4 == 0 else "",
            "seen" if n % 10 == 0 else "",
        ]
        for n in range(ROWS)
    ]
    monkeypatch.setattr(jobs, "worker_is_alive", lambda _now: True)
    queued, took = [], {}
    monkeypatch.setattr(jobs, "leave", lambda *args: queued.append(args))
    monkeypatch.setattr(jobs.transaction, "on_commit", lambda act: act())
    began = perf_counter()
    row = incoming.take_in(
        organisation=barn, by=keeper, kind="log", name="log.csv", data=csv_of(rows), now=NOW
    )
    took["read"] = perf_counter() - began
    for what in ("check", "import"):
        assert jobs.start(row=row, step=what, by=keeper, clock=clock)
        began = perf_counter()
        work_on_sheet(*queued.pop()[1:])
        took[what] = perf_counter() - began
        row.refresh_from_db()
    assert (row.state, row.done, row.result["entries"]) == ("imported", ROWS, MEASURED)
    assert Entry.objects.count() == Reading.objects.count() == MEASURED
    assert row.data is None
    if connection.vendor == "postgresql":
        assert min(statistics_of(Entry), statistics_of(Reading)) > 0, "whoever asks next is not made to wait"
    began = perf_counter()
    assert jobs.start(row=row, step="undo", by=keeper, clock=clock)
    work_on_sheet(*queued.pop()[1:])
    took["undo"] = perf_counter() - began
    row.refresh_from_db()
    assert row.undone["withdrawn"] == MEASURED
    assert verify(export_history(cars[3], now=NOW)).sound
    with capsys.disabled():
        print(  # noqa: T201 - to be seen, not asserted
            f"\n{ROWS} rows on {connection.vendor}: " + ", ".join(f"{k} {v:.1f} s" for k, v in took.items())
        )


@pytest.mark.django_db
def test_the_page_tells_how_far_it_is(barn, keeper, car, client_as):
    car.registration = "HB 1"
    car.save()
    row = incoming.take_in(
        organisation=barn,
        by=keeper,
        kind="log",
        name="log.csv",
        now=NOW,
        data=csv_of([["Reg", "Date", "Volts"], ["HB 1", "2026-01-01", "12.5"]]),
    )
    SheetImport.objects.filter(pk=row.pk).update(state="checking", beat_at=NOW, done=4000, rows=10_000)
    page = client_as(keeper).get(f"/spreadsheets/{row.pk}/").content.decode()
    assert "4000 of 10000 rows" in page
    assert 'http-equiv="refresh"' not in page
    assert "Look again" in page


READINGS_BROUGHT_IN = (
    """
    INSERT INTO collection_entry
    (id, vehicle_id, kind, done_at, recorded_at, by_id, details, note, idempotency_key)
    SELECT gen_random_uuid(), car.id, 'charge', now(), now(), %s, '{}', '', 'brought ' || n
    FROM collection_vehicle car, generate_series(1, 40) n
    """,
    """
    INSERT INTO collection_reading (entry_id, quantity, value, position)
    SELECT id, 'rested_volts', 12.4, '' FROM collection_entry
    """,
)
EVERY_READING = "Seq Scan on collection_reading"


@pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite plans without statistics")
@pytest.mark.django_db
def test_the_readings_of_some_cars_are_found_by_an_index_before_rows_are_counted_and_after(barn, keeper, car):
    """Left to join rows of which it knows nothing yet, PostgreSQL reads those of every car for one."""
    like = {"organisation": barn, "owner": car.owner, "marque": "Wendlow", "model": "Twelve"}
    Vehicle.objects.bulk_create(Vehicle(**like, year=1962, stored_since="2026-03-01") for _ in range(500))
    with connection.cursor() as cursor:
        for statement in READINGS_BROUGHT_IN:
            cursor.execute(statement, [keeper.pk] if "%s" in statement else None)
    some = Vehicle.objects.order_by("pk").values_list("pk", flat=True)[:40]
    cases = [[car.pk], list(some)]
    assert [EVERY_READING in readings_of(cars).explain() for cars in cases] == [False, False]
    count_rows_anew()
    assert [EVERY_READING in readings_of(cars).explain() for cars in cases] == [False, False]
