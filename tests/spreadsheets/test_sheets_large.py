"""Ten thousand rows through the worker's own job: how far it is can be seen, and all of it is stored."""

from datetime import UTC, datetime, timedelta
from time import perf_counter

import pytest
from django.db import connection

from collection.chain.verify import verify
from collection.models import Entry, Reading, SheetImport
from collection.proof.actions import export_history
from collection.spreadsheets.actions import incoming, jobs
from collection.tasks import work_on_sheet
from tests.barn import make_car
from tests.spreadsheets.tables_of import NOW, clock, csv_of

ROWS, CARS = 10_000, 40


@pytest.mark.django_db
def test_ten_thousand_rows_come_in_through_the_job(barn, keeper, car, monkeypatch, capsys):
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
    assert (row.state, row.done, row.result["entries"]) == ("imported", ROWS, 12_500)
    assert Entry.objects.count() == Reading.objects.count() == 12_500
    assert row.data is None
    began = perf_counter()
    assert jobs.start(row=row, step="undo", by=keeper, clock=clock)
    work_on_sheet(*queued.pop()[1:])
    took["undo"] = perf_counter() - began
    row.refresh_from_db()
    assert row.undone["withdrawn"] == 12_500
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
    SheetImport.objects.filter(pk=row.pk).update(state="checking", beat_at=NOW, done=4000, rows=ROWS)
    page = client_as(keeper).get(f"/spreadsheets/{row.pk}/").content.decode()
    assert "4000 of 10000 rows" in page
    assert 'http-equiv="refresh"' not in page
    assert "Look again" in page
