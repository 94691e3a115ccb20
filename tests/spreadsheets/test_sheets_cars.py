"""Cars out of a table: every part of the record, every fault by row and field, taken back by notes."""

from datetime import date

import pytest

from collection.care.actions.care import log_entry
from collection.chain.verify import verify
from collection.models import Owner, Vehicle
from collection.proof.actions import export_history
from tests.barn import make_car
from tests.spreadsheets.tables_of import NOW, bring_in, confirm, csv_of, send, step

pytestmark = pytest.mark.django_db
MESSY = [
    ["", "Collection of Ada Wren", ""],
    ["as of Nov 2026"],
    [],
    [
        "VIN",
        "Vehicle",
        "Ownr",
        "Location",
        "Reg. No.",
        "Battery fitted",
        "Tank (US gal)",
        "Last driven",
        "Tyre date code",
        "Tire pressure",
        "Fuel",
        "Electrics",
        "Antifreeze %",
    ],
    [
        "",
        "1958 Brackwater Saloon",
        "ada wren",
        "A2",
        "AB 12",
        "Mar 2024",
        "12",
        "03/11/2025",
        "2319",
        "26 psi",
        "E5",
        "12 V",
        "50",
    ],
    [],
    ["", "Tarnley GT 1971", "Cleo Marsh", "", "CD 34", "", "15", "28/10/2025", "", "", "", "12", ""],
]


@pytest.fixture
def ada(barn, owner):
    return Owner.objects.create(organisation=barn, name="Ada Wren", person=owner)


def test_a_messy_table_becomes_cars_with_all_parts_of_their_record(barn, manager, ada, bays):
    row = bring_in(barn, manager, "cars", csv_of(MESSY, delimiter=";", encoding="cp1252"), "cars.csv")
    saloon, gt = Vehicle.objects.order_by("year")
    assert (saloon.marque, saloon.model, saloon.year) == ("Brackwater", "Saloon", 1958)
    assert (saloon.owner, saloon.bay, saloon.registration) == (ada, bays[1], "AB 12")
    assert round(saloon.tank_litres, 3) == 45.425
    assert saloon.system_volts == 12
    assert saloon.batteries.get().installed_on == date(2024, 3, 1)
    assert saloon.last_uses.get().on == date(2025, 11, 3)
    assert {tyre.date_code for tyre in saloon.tyres.all()} == {"2319"}
    assert {round(tyre.placard_kpa, 2) for tyre in saloon.tyres.all()} == {179.26}
    assert saloon.fuel.grade == "petrol_e5"
    assert (gt.marque, gt.model, gt.owner.name) == ("Tarnley", "GT", "Cleo Marsh")
    assert row.result["owners"] == 1
    assert any("only the month" in note["text"] for note in row.report["notes"])


def test_only_a_manager_adds_owners_by_a_table(barn, keeper, ada):
    row = step(send(barn, keeper, "cars", csv_of(MESSY)), "check")
    assert [(it["row"], it["field"]) for it in row.report["faults"]] == [(7, "Owner")]


def test_faults_of_every_part_are_told_at_once_and_nothing_stays(barn, manager, ada, bays):
    rows = [
        [
            "Make",
            "Model",
            "Year",
            "Owner",
            "Bay",
            "Tank",
            "In the tank",
            "Battery made",
            "Battery installed",
            "Front left date code",
            "Volts",
        ],
        ["", "Nine", "2099", "Ada Wren", "Z9", "40", "60", "2020", "2019", "9999", "12"],
    ]
    row = step(confirm(send(barn, manager, "cars", rows)), "check")
    fields = {it["field"] for it in row.report["faults"]}
    assert fields == {
        "Make",
        "Year of make",
        "Bay",
        "In the tank",
        "Battery installed",
        "Front left date code",
    }
    assert Vehicle.objects.count() == 0
    assert list(Owner.objects.filter(organisation=barn)) == [ada]


def test_two_rows_for_one_bay_are_told_before_anything_is_stored(barn, manager, ada):
    rows = [["Make", "Model", "Owner", "Bay"], ["A", "B", "Ada Wren", "A1"], ["C", "D", "Ada Wren", "A 1"]]
    row = step(send(barn, manager, "cars", rows), "check")
    assert "row 2 puts a car" in row.report["faults"][0]["text"]


def test_a_car_that_is_here_already_is_told_and_left_out(barn, manager, ada):
    make_car(barn, ada, registration="AB12")
    row = bring_in(barn, manager, "cars", csv_of(MESSY))
    assert row.report["counts"]["left_out"] == 1
    assert any("on the record already" in note["text"] for note in row.report["notes"])
    assert Vehicle.objects.count() == 2


def test_taking_back_takes_cars_off_every_list_and_their_chains_verify(barn, manager, ada):
    row = bring_in(barn, manager, "cars", csv_of(MESSY))
    step(row, "undo")
    assert (row.undone["taken_off"], row.undone["kept"]) == (2, [])
    for car in Vehicle.objects.all():
        assert (car.left_on, car.bay) == (date(2026, 11, 25), None)
        assert (car.taken_back_on, car.entries.count()) == (date(2026, 11, 25), 0)
        assert verify(export_history(car, now=NOW)).sound


def test_a_car_that_somebody_worked_on_stays(barn, manager, keeper, ada):
    row = bring_in(barn, manager, "cars", csv_of(MESSY))
    logged, edited = Vehicle.objects.order_by("year")
    log_entry(
        vehicle=logged, kind="note", done_at=None, by=keeper, idempotency_key="n1", now=NOW, note="Seen"
    )
    edited.engine = "V8"
    edited.save()
    step(row, "undo")
    assert row.undone["taken_off"] == 0
    assert [it["why"][:12] for it in row.undone["kept"]] == ["care has bee", "its record h"]
    assert Vehicle.objects.filter(left_on__isnull=True).count() == 2


def test_after_taking_back_the_same_table_can_come_in_again(barn, manager, ada):
    row = bring_in(barn, manager, "cars", csv_of(MESSY))
    step(row, "undo")
    bring_in(barn, manager, "cars", csv_of(MESSY))
    assert Vehicle.objects.filter(left_on__isnull=True).count() == 2


def test_an_import_that_breaks_on_its_last_car_leaves_none(barn, manager, ada, monkeypatch):
    from collection.spreadsheets.actions import cars, jobs
    from tests.spreadsheets.tables_of import clock

    row = step(send(barn, manager, "cars", csv_of(MESSY)), "check")
    real, seen = cars.put_tyres, []
    real_store = cars.put_last_uses

    def breaks(**kwargs):
        seen.append(kwargs)
        if len(seen) == 4:  # two in the check of the import, then its second car
            raise RuntimeError("power cut")
        return real_store(**kwargs)

    monkeypatch.setattr(cars, "put_last_uses", breaks)
    with pytest.raises(RuntimeError):
        jobs.start(row=row, step="import", by=manager, clock=clock)
    assert (Vehicle.objects.count(), Owner.objects.filter(organisation=barn).count()) == (0, 1)
    assert real is cars.put_tyres
