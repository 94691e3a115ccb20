"""A care log saved, mangled as people and their programmes mangle tables, and brought back."""

import csv
import io
from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse

from collection.care.actions.care import log_entry
from collection.care.draft import Measured
from collection.models import Entry
from collection.models.care import effective
from tests.barn import make_car
from tests.spreadsheets.tables_of import NOW, book_of, confirm, send, step

pytestmark = pytest.mark.django_db


@pytest.fixture
def logged(barn, car, keeper, bays):
    """Two cars and a year of care; what the log says of them."""
    cars = [car, make_car(barn, car.owner, model="Sixteen", registration="HB 2")]
    car.registration = "HB 1"
    car.save()
    acts = (
        ("charge", {"completed": True}, [Measured("rested_volts", 12.71)], ""),
        (
            "run_up",
            {"minutes": 25.0, "reached_temperature": True, "driven": True, "distance_km": 18.5},
            [],
            "dry road",
        ),
        ("tyre_pressures", {"topped_up": True}, [Measured("tyre_pressure", 220.0, "front_left")], ""),
        ("inspected", {"ok": False, "found": ["rust at the sill", "oil drip"]}, [], ""),
        ("fluid_changed", {"fluid": "brake_fluid"}, [], "with filter; bled"),
        ("fuel_added", {"litres": 20.5, "grade": "petrol_e5"}, [], ""),
        ("note", {}, [], "Ünder the cover, “as new”"),
    )
    for nth in range(14):
        kind, details, readings, note = acts[nth % 7]
        log_entry(
            vehicle=cars[nth // 7],
            kind=kind,
            done_at=datetime(2026, 3, 20, 9, 30, tzinfo=UTC) + timedelta(days=9 * nth),
            by=keeper,
            idempotency_key=f"k{nth}",
            now=NOW + timedelta(seconds=nth),
            details=details,
            readings=readings,
            note=note,
        )
    return cars


def said(cars):
    """What stands of these cars, as far as a table may say it: to the minute."""
    rows = effective(Entry.objects.filter(vehicle__in=cars)).order_by("vehicle", "done_at")
    return [
        (
            row.vehicle.registration,
            row.kind,
            row.done_at.replace(second=0, microsecond=0),
            {key: value for key, value in row.details.items() if value not in (None, "")},
            [
                (it.quantity, it.position, round(it.value, 4))
                for it in row.readings.order_by("quantity", "position")
            ],
            row.note,
        )
        for row in rows.prefetch_related("readings")
    ]


def as_csv(rows, delimiter=",", encoding="utf-8"):
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=delimiter).writerows(rows)
    return text.getvalue().encode(encoding, "replace")


def dates_as(form):
    def mangle(rows):
        at = rows[0].index("Done at")
        changed = [[*row] for row in rows]
        for row in changed[1:]:
            row[at] = datetime.fromisoformat(row[at].replace("Z", "+00:00")).strftime(form)
        return as_csv(changed)

    return mangle


def shuffled(rows):
    order = sorted(range(len(rows[0])), key=lambda at: rows[0][at][::-1])
    return as_csv([[row[at] for at in order] for row in rows])


def without_empty_columns(rows):
    full = [at for at in range(len(rows[0])) if any(row[at] for row in rows[1:])]
    return as_csv([[row[at] for at in full] for row in rows])


def german(rows):
    words = {"Done at": "Datum", "Registration": "Kennzeichen", "Note": "Bemerkung", "Done by": "Kürzel"}
    head = [words.get(name, name) for name in rows[0]]
    return as_csv([head, *rows[1:]], ";")


def twice(rows):
    return as_csv([*rows, *rows[1:]])


WAYS = {
    "as a workbook with a cover sheet": lambda rows: book_of(
        {"Cover": [["Log", "of 2026"]] * 40, "2026": rows}
    ),
    "semicolons, in the letters of old machines": lambda rows: as_csv(rows, ";", "cp1252"),
    "under a title, headings again, a line of totals": lambda rows: as_csv(
        [["Care log"], [], *rows[:6], rows[0], *rows[6:], ["Total", len(rows)]]
    ),
    "dates by day, with times": dates_as("%d.%m.%Y %H:%M"),
    "dates in words": dates_as("%-d %B %Y %H:%M"),
    "columns in another order": shuffled,
    "columns that say nothing taken out": without_empty_columns,
    "headings in German": german,
    "every row twice": twice,
    "blank rows and columns between": lambda rows: as_csv(
        [line for row in rows for line in ([*row[:3], "", *row[3:]], [])], "\t", "utf-16"
    ),
}


@pytest.mark.parametrize("way", WAYS)
def test_a_log_that_was_mangled_comes_back_as_it_was(
    logged, barn, other_barn, outsider, manager, client_as, way
):
    book = b"".join(client_as(manager).get(reverse("whole_log_as", args=["csv"])).streaming_content)
    rows = list(csv.reader(io.StringIO(book.decode("utf-8-sig"))))
    before = said(logged)
    assert len(before) == 14
    outsider.name = "Keeper"  # whose name the table bears: it goes into no note
    outsider.save()
    owner = other_barn.owners.create(name="Cleo Marsh")
    cars = [make_car(other_barn, owner, model=it.model, registration=it.registration) for it in logged]
    name = "log.xlsx" if "workbook" in way else "log.csv"
    row = step(confirm(send(other_barn, outsider, "log", WAYS[way](rows), name)), "check")
    assert row.report["faults"] == [], row.report["faults"][:3]
    assert step(row, "import").state == "imported"
    assert said(cars) == before
