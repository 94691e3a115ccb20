"""What is taken out and brought in again is what it was."""

import io
import json
import zipfile
from datetime import UTC, date, datetime, timedelta

import pytest
from django.urls import reverse
from openpyxl import load_workbook

from collection.care.actions.care import log_entry
from collection.care.draft import Measured
from collection.models import Battery, Entry, Fluid, Fuel, LastUse, Organisation, Owner, Tyre, Vehicle
from collection.models.care import effective
from collection.spreadsheets.lists.records import cars_table, log_table
from collection.spreadsheets.sheets.reading import read_file
from collection.spreadsheets.sheets.wording import CellFormat
from tests.barn import make_car, make_person
from tests.spreadsheets.tables_of import NOW, bring_in, confirm, send, step

pytestmark = pytest.mark.django_db
NASTY = "=1+1"


@pytest.fixture
def full(barn, car, keeper, bays):
    """A car of which everything is known, one of which nothing is, and a twin that nothing tells apart."""
    car.registration, car.chassis_number, car.notes = "-HB 1", "0123", "'quoted\nand @more"
    car.year = 1898
    car.engine, car.tank_material, car.left_on, car.on_stands = "@six", "grp", None, True
    car.save()
    Battery.objects.create(
        vehicle=car,
        chemistry="agm",
        capacity_ah=60.5,
        volts=12,
        made_on=date(2019, 5, 1),
        isolated=True,
        drain_ma=20.3,
        full_sg=1.265,
    )
    Fuel.objects.create(
        vehicle=car, grade="petrol_e5", litres=12.3456789, bio_pct=4.5, as_of=date(2026, 1, 2)
    )
    Fluid.objects.create(vehicle=car, kind="coolant", type="pg_organic", glycol_pct=33.3)
    Tyre.objects.create(vehicle=car, position="spare", date_code="258", placard_kpa=193.0532)
    LastUse.objects.create(vehicle=car, event="full_warm", on=date(1899, 3, 4), basis="inferred")
    for model in ("Twin", "Twin"):
        make_car(
            barn,
            car.owner,
            marque="=Tarn",
            model=model,
            tank_litres=None,
            system_volts=None,
            stored_since=None,
        )
    gone = make_car(barn, car.owner, model="Gone", left_on=date(2026, 8, 1))
    _log(
        car, keeper, "battery_reading", readings=[Measured("rested_volts", 12.61, "", 18.3, 24.0)], note=NASTY
    )
    _log(
        car,
        keeper,
        "run_up",
        {"minutes": 21.5, "reached_temperature": True, "driven": True, "distance_km": 12.7},
    )
    _log(car, keeper, "inspected", {"ok": False, "found": ["+rust; at the sill", "[odd]"]})
    _log(car, keeper, "moved", {"wheels_only": False, "to_bay": bays[2].pk})
    tag = _log(car, keeper, "tag_opened", {"tag": "drained", "where": "Radiator", "system": "cooling"})
    _log(car, keeper, "tag_closed", {"opened": str(tag.pk)})
    found = _log(car, keeper, "note", {"found": "Leak; slow"}, note="under the sump")
    _log(car, keeper, "note", {"answers": str(found.pk)}, note="tightened")
    wrong = _log(car, keeper, "note", note="wrong")
    _log(car, keeper, "withdrawn", corrects=wrong)
    second = Vehicle.objects.filter(model="Twin").order_by("pk")[1]
    _log(
        second,
        keeper,
        "tyre_pressures",
        {"topped_up": True},
        [Measured("tyre_pressure", 180.12345, "rear_left")],
    )
    Entry.objects.create(
        vehicle=gone,
        kind="note",
        done_at=NOW - timedelta(days=200),
        recorded_at=NOW,
        by=keeper,
        note="here\x0bonce",
        idempotency_key="old",
    )
    return barn


def _log(car, by, kind, details=None, readings=(), note="", corrects=None):
    count = Entry.objects.count()
    when = datetime(2026, 3, 1, 9, 30, 15, 123456, UTC) + timedelta(days=7 * count)
    return log_entry(
        vehicle=car,
        kind=kind,
        done_at=when,
        by=by,
        idempotency_key=f"k{count}",
        corrects=corrects,
        now=NOW + timedelta(seconds=count),
        details=details,
        readings=readings,
        note=note,
    ).entry


def told(organisation):
    """Everything that the tables of cars and log say."""
    cell_format = CellFormat(None)
    cars = Vehicle.objects.filter(
        organisation=organisation,
    ).order_by("pk")
    entries = effective(Entry.objects.filter(vehicle__organisation=organisation))
    return [
        list(map(list, table.rows))
        for table in (cars_table(cars, cell_format), log_table(entries, cell_format, organisation))
    ]


def saved(client, name, *args):
    answer = client.get(reverse(name, args=args))
    assert answer.status_code == 200
    return b"".join(answer.streaming_content)


def test_a_whole_organisation_brought_into_an_empty_one_says_the_same(
    full, manager, other_barn, outsider, client_as
):
    before = told(full)
    assert len(before[0]) == 4
    assert len(before[1]) == 10
    book = saved(client_as(manager), "everything_as", "xlsx")
    _settle(other_barn)
    bring_in(other_barn, outsider, "cars", book, "everything.xlsx")
    bring_in(other_barn, outsider, "log", book, "everything.xlsx")
    assert told(other_barn) == before


def of_places(client):
    """Places and climates, by the tables that hold them; the air of the world is nobody's own."""
    book = load_workbook(io.BytesIO(saved(client, "everything_as", "xlsx")))
    titles = ("Sites", "Buildings", "Bays", "Climates", "Climate months", "Cars", "Care log", "Owners")
    return {title: [[cell.value for cell in row] for row in book[title].iter_rows()] for title in titles}


def test_an_organisation_without_anything_becomes_the_same_with_its_places_and_climates(
    full, manager, db, client_as
):
    site = full.sites.get()
    house = site.buildings.create(name="Cold hall", shelter="heated", walk_order=2, heated_to_c=12.5)
    a, b = (house.bays.create(row="C", place=place, power_outlet=place == 1) for place in (1, 2))
    b.blocked_by.add(a)
    a.from_left_m, a.from_door_m, a.width_m, a.depth_m = 0, 1.5, 3, 6
    a.save()
    empty = Organisation.objects.create(name="Nothing yet")
    client, stranger = client_as(manager), make_person("new@nowhere.example", empty, "manager")
    before = of_places(client)
    book = saved(client, "everything_as", "xlsx")
    for kind in ("cars", "log"):
        row = send(empty, stranger, kind, book, "everything.xlsx")
        page = client_as(stranger).get(reverse("spreadsheet_columns", args=[row.pk])).content.decode()
        assert "Write down the places first" in page
        answer = client_as(stranger).post(reverse("spreadsheet", args=[row.pk]), {"what": "places"})
        assert answer.status_code == 302
        row = step(confirm(row), "check")
        assert row.report["faults"] == []
        assert step(row, "import").state == "imported"
    assert (
        empty.sites.get().buildings.get(name="Cold hall").bays.get(place=2, row="C").blocked_by.get().place
        == 1
    )
    after = of_places(client_as(stranger))
    for title in ("Sites", "Buildings", "Climates", "Climate months", "Cars", "Care log"):
        assert after[title] == before[title], title
    marked = [
        [str(row) for row in told["Bays"] if row[1]] for told in (after, before)
    ]  # the floor comes by itself
    assert sorted(marked[0]) == sorted(marked[1])


def test_the_same_by_its_csv_files(full, manager, other_barn, outsider, client_as):
    before = told(full)
    parts = zipfile.ZipFile(io.BytesIO(saved(client_as(manager), "everything_as", "zip")))
    _settle(other_barn)
    bring_in(other_barn, outsider, "cars", parts.read("cars.csv"), "cars.csv")
    bring_in(other_barn, outsider, "log", parts.read("care-log.csv"), "care-log.csv")
    assert told(other_barn) == before


def _settle(barn):
    """The same places, by other names of the site only where the table would not know them."""
    barn.sites.update(name="Hollin")


@pytest.mark.parametrize("units", ["metric", "british", "american"])
@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_a_list_saved_in_ones_own_units_comes_in_without_change(
    full, manager, other_barn, outsider, client_as, units, form
):
    for person in (manager, outsider):
        person.units = units
        person.save()
    client, before = client_as(manager), told(full)
    cars = [row for row in before[0] if "Gone" not in row]
    bring_in(other_barn, outsider, "cars", saved(client, "cars_as", form), f"cars.{form}")
    after = told(other_barn)
    assert sorted(map(str, _near(after[0]))) == sorted(map(str, _near(cars)))
    log = saved(client, "car_log_as", Vehicle.objects.get(registration="-HB 1", organisation=full).pk, form)
    bring_in(other_barn, outsider, "log", log, f"log.{form}")
    own = [row for row in before[1] if "-HB 1" in row]
    assert _near(told(other_barn)[1]) == _near(own)


def _near(rows):
    """Numbers to nine figures; moments to the second."""

    def cell(value):
        if isinstance(value, float):
            return float(f"{value:.9g}")
        return (
            value.split(".")[0]
            if isinstance(value, str) and value[:2] == "20" and value.endswith("Z")
            else value
        )

    return [[cell(value) for value in row] for row in rows]


def test_text_that_begins_like_a_formula_is_marked_in_csv_and_is_text_in_a_workbook(full, manager, client_as):
    client = client_as(manager)
    text = saved(client, "cars_as", "csv").decode("utf-8-sig")
    assert "'=Tarn" in text
    assert "'-HB 1" in text
    assert "'@six" in text
    book = load_workbook(io.BytesIO(saved(client, "cars_as", "xlsx")))
    cells = [cell for row in book.worksheets[0].iter_rows() for cell in row]
    nasty = [cell for cell in cells if isinstance(cell.value, str) and cell.value[:1] in "=+-@"]
    assert {cell.data_type for cell in nasty} == {"s"}
    assert all(cell.quotePrefix for cell in nasty)


def test_json_is_a_list_of_rows_by_heading(full, manager, client_as):
    rows = json.loads(saved(client_as(manager), "cars_as", "json"))
    assert rows[-1]["Registration"] == "-HB 1"


def test_an_owner_saves_their_own_cars_only(full, neighbour_car, owner, client_as):
    text = saved(client_as(owner), "cars_as", "csv").decode()
    assert "Twelve" in text
    assert "Sixteen" not in text
    log = saved(client_as(owner), "whole_log_as", "csv").decode()
    assert "Sixteen" not in log
    assert Owner.objects.get(name="Bram Toller").name not in log


def test_a_list_is_saved_as_its_filters_stand(full, manager, client_as):
    answer = client_as(manager).get(reverse("cars_as", args=["csv"]) + "?text=Twin")
    sheet = read_file("x.csv", b"".join(answer.streaming_content))[0]
    assert len(sheet.rows) == 3
