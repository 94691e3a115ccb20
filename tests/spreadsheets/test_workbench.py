"""What the preview lets one do: answer once, correct cells, set rows aside, add bays; and the command."""

import io
import json

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from collection.care.actions.floor import floor_of
from collection.models import Bay, Entry, Owner, SheetImport, SheetWord, Vehicle
from tests.barn import make_car
from tests.spreadsheets.messy.make_messy import ods_of
from tests.spreadsheets.tables_of import bring_in, confirm, csv_of, send, step

pytestmark = pytest.mark.django_db
CARS = [
    ["Make", "Model", "Reg", "Owner", "Bay", "Fuel"],
    ["Wendlow", "Twelve", "HB 1", "Ada Wren", "A1", "petrol"],
    ["Tarnley", "GT", "HB 2", "Ada  Wren.", "B 12", "jungle juice"],
    ["Brackwater", "Saloon", "HB 3", "Cleo Marsh", "A2", "petrol"],
]


@pytest.fixture
def ada(barn, owner, bays):
    return Owner.objects.create(organisation=barn, name="Ada Wren", person=owner)


@pytest.fixture
def checked(barn, manager, ada):
    return step(send(barn, manager, "cars", CARS), "check")


def post(client, row, **data):
    answer = client.post(reverse("spreadsheet", args=[row.pk]), data)
    assert answer.status_code == 302, answer.content.decode()
    row.refresh_from_db()
    return row


def asked_of(row):
    return {(it["field"], it["text"]): f"a{at}" for at, it in enumerate(row.report["asked"])}


def test_owners_that_differ_by_a_dot_bays_and_words_are_asked_once_and_come_in(
    checked, barn, manager, client_as
):
    client, asked = client_as(manager), asked_of(checked)
    assert set(asked) == {("owner", "Ada Wren."), ("place", "B 12"), ("fuel.grade", "jungle juice")}
    page = client.get(reverse("spreadsheet", args=[checked.pk])).content.decode()
    assert "Ada Wren." in page
    house = Bay.objects.first().building
    answers = {
        asked["owner", "Ada Wren."]: "Ada Wren",
        asked["place", "B 12"]: f"add {house.pk}",
        asked["fuel.grade", "jungle juice"]: "premix",
    }
    row = post(client, checked, what="asked", **answers)
    assert (row.state, row.report["faults"]) == ("checked", [])
    post(client, row, what="import")
    tarnley = Vehicle.objects.get(registration="HB 2")
    assert (tarnley.owner.name, tarnley.bay.label, tarnley.fuel.grade) == ("Ada Wren", "B12", "premix")
    assert SheetWord.objects.get().text == "jungle juice"
    again = [CARS[0], ["Wendlow", "Nine", "HB 9", "Ada Wren", "", "jungle juice"]]
    bring_in(barn, manager, "cars", again)
    assert Vehicle.objects.get(registration="HB 9").fuel.grade == "premix"


@pytest.mark.parametrize("first", ["A. Fell", "A Fell"])
def test_owners_of_one_table_that_differ_by_a_dot_are_one_if_somebody_says_so(
    barn, manager, client_as, first
):
    second = {"A. Fell": "A Fell", "A Fell": "A. Fell"}[first]
    rows = [["Ostler", "Nine", first, "44Ah"], ["Ostler", "Ten", second, "70 Ah AGM"]]
    row = step(send(barn, manager, "cars", [["Make", "Model", "Owner", "Battery"], *rows]), "check")
    client, question = client_as(manager), asked_of(row)["owner", second]
    page = client.get(reverse("spreadsheet", args=[row.pk])).content.decode()
    assert f'<option value="{first}">' in page
    row = post(client, row, what="asked", **{question: first})
    assert (row.state, row.report["faults"]) == ("checked", [])
    post(client, row, what="import")
    cars = list(Vehicle.objects.filter(marque="Ostler").order_by("model"))
    assert {car.owner.name for car in cars} == {first}
    batteries = {car.model: car.batteries.get() for car in cars}
    assert (batteries["Nine"].capacity_ah, batteries["Nine"].chemistry) == (44, "")
    assert (batteries["Ten"].capacity_ah, batteries["Ten"].chemistry) == (70, "agm")


def test_a_word_put_into_the_note_is_kept_in_words(checked, manager, client_as):
    asked = asked_of(checked)
    answers = {
        asked["owner", "Ada Wren."]: "new",
        asked["place", "B 12"]: "none",
        asked["fuel.grade", "jungle juice"]: "+note",
    }
    row = post(client_as(manager), checked, what="asked", **answers)
    post(client_as(manager), row, what="import")
    tarnley = Vehicle.objects.get(registration="HB 2")
    assert tarnley.notes == "Fuel grade: jungle juice"
    assert (tarnley.owner.name, tarnley.bay) == ("Ada Wren.", None)


def test_a_cell_is_corrected_on_the_page(checked, manager, client_as):
    client = client_as(manager)
    row = post(client, checked, what="mend", **{"3!3": "Ada Wren", "3!4": "A3", "3!5": "E5"})
    assert row.report["faults"] == []
    post(client, row, what="import")
    tarnley = Vehicle.objects.get(registration="HB 2")
    assert (tarnley.bay.label, tarnley.fuel.grade) == ("A3", "petrol_e5")


def test_rows_set_aside_wait_with_what_is_wrong_while_the_good_ones_come_in(checked, manager, client_as):
    client = client_as(manager)
    row = post(client, checked, what="aside")
    assert (row.report["faults"], row.report["counts"]["cars"]) == ([], 2)
    address = reverse("faults_as", args=[row.pk, "csv"])
    before = b"".join(client.get(address).streaming_content).decode("utf-8-sig")
    assert "jungle juice" in before
    assert "nearly Ada Wren" in before
    post(client, row, what="import")
    assert sorted(Vehicle.objects.values_list("registration", flat=True)) == ["HB 1", "HB 3"]
    assert b"".join(client.get(address).streaming_content).decode("utf-8-sig") == before


def test_what_was_set_aside_can_be_taken_in_again(checked, manager, client_as):
    row = post(client_as(manager), checked, what="aside")
    assert len(post(client_as(manager), row, what="again").report["faults"]) == 3


def test_a_building_is_written_down_from_the_preview_and_its_cars_stand_on_its_floor(
    barn, manager, ada, client_as
):
    table = [
        ["Make", "Model", "Owner", "Place"],
        ["Ostler", "Nine", "Ada Wren", "Upper hall"],
        ["Ostler", "Ten", "Ada Wren", "Upper hall"],
    ]
    row, site = step(send(barn, manager, "cars", table), "check"), barn.sites.get()
    client = client_as(manager)
    assert (
        "Add “Upper hall” at Hollin: hall"
        in client.get(reverse("spreadsheet", args=[row.pk])).content.decode()
    )
    row = post(client, row, what="asked", **{asked_of(row)["place", "Upper hall"]: f"house {site.pk} hall"})
    assert (row.state, row.report["faults"]) == ("checked", [])
    post(client, row, what="import")
    places = [car.bay for car in Vehicle.objects.order_by("model")]
    assert {(str(bay.building.name), bay.building.shelter, bay.is_marked) for bay in places} == {
        ("Upper hall", "enclosed", False)
    }
    assert len({bay.pk for bay in places}) == 2


@pytest.mark.parametrize("meaning", ["house 1 castle", "house 999999 hall", "house x hall"])
def test_a_building_that_cannot_be_is_not_written_down(barn, manager, ada, client_as, meaning):
    table = [["Make", "Model", "Owner", "Place"], ["Ostler", "Nine", "Ada Wren", "Upper hall"]]
    row = step(send(barn, manager, "cars", table), "check")
    post(client_as(manager), row, what="asked", **{asked_of(row)["place", "Upper hall"]: meaning})
    assert barn.sites.get().buildings.count() == 1


def test_cars_of_a_table_without_places_stand_in_the_one_building_that_has_no_bays(barn, manager, ada):
    Bay.objects.filter(building__site__organisation=barn).delete()
    house = barn.sites.get().buildings.get()
    floor_of(house)
    bring_in(barn, manager, "cars", [["Make", "Model", "Owner"], ["Ostler", "Nine", "Ada Wren"]])
    assert Vehicle.objects.get().bay.building == house


def test_a_keeper_adds_no_bay(checked, keeper, client_as):
    asked = asked_of(checked)
    house = Bay.objects.first().building
    answers = {asked["place", "B 12"]: f"add {house.pk}"}
    row = post(client_as(keeper), checked, what="asked", **answers)
    assert not Bay.objects.filter(row="B", place=12).exists()
    assert row.report["faults"]


def test_a_table_without_owners_asks_once_whose_cars_they_are(barn, manager, ada, client_as):
    Owner.objects.create(organisation=barn, name="Cleo Marsh")
    rows = [["Make", "Model", "Year"], ["Wendlow", "Twelve", "1962"], ["Tarnley", "GT", "1971"]]
    row = step(send(barn, manager, "cars", rows), "check")
    (asked,) = row.report["asked"]
    assert (asked["field"], asked["rows"]) == ("fixed:owner", 2)
    post(client_as(manager), row, what="asked", a0="Ada Wren")
    post(client_as(manager), row, what="import")
    assert {car.owner for car in Vehicle.objects.all()} == {ada}


def test_the_file_stays_when_its_purpose_was_not_chosen_or_chosen_wrongly(barn, manager, ada, client_as):
    client = client_as(manager)
    file = io.BytesIO(csv_of(CARS))
    file.name = "cars.csv"
    answer = client.post(reverse("spreadsheets"), {"file": file, "kind": ""})
    row = SheetImport.objects.get()
    assert (answer.status_code, row.kind) == (302, "cars")
    shape = {"what": "shape", "kind": "log", "sheets": "cars.csv", "header": "1"}
    client.post(reverse("spreadsheet_columns", args=[row.pk]), shape)
    row.refresh_from_db()
    assert row.kind == "log"
    assert row.data is not None


def test_units_years_and_orders_that_nothing_tells_are_asked_before_a_row_is_checked(
    barn, manager, ada, client_as
):
    rows = [["Reg", "Date", "Gallons in tank", "Last driven"], ["HB 1", "x", "6", "7 Nov"]]
    row = send(barn, manager, "cars", rows)
    assert step(row, "check").state == "mapping"
    assert "unit of “Gallons in tank”" in row.problem
    form = {"what": "columns", "f0": "registration", "f2": "fuel.litres", "f3": "last.road_use.on"}
    page = client_as(manager).post(reverse("spreadsheet_columns", args=[row.pk]), form).content.decode()
    assert "Nothing says in which unit" in page
    assert "These dates have no year" in page
    client_as(manager).post(
        reverse("spreadsheet_columns", args=[row.pk]), form | {"u2": "UK gal", "y3": "2025"}
    )
    row.refresh_from_db()
    assert row.report["samples"] == [] or row.state == "checked"
    columns = row.mapping["columns"]
    assert (columns["2"]["unit"], columns["3"]["year"]) == ("UK gal", 2025)


def test_days_to_come_and_days_before_the_car_was_made_are_faults(barn, manager, ada):
    rows = [
        ["Make", "Model", "Year", "Owner", "Last driven", "Battery fitted", "Stored since"],
        ["Wendlow", "Twelve", "1962", "Ada Wren", "3 Mar 2095", "4 May 1950", "2 Feb 2020"],
    ]
    row = step(send(barn, manager, "cars", rows), "check")
    assert {it["field"] for it in row.report["faults"]} == {"Last road use", "Battery installed"}


def test_a_row_that_says_the_same_twice_is_shown_and_left_out(barn, keeper, car):
    car.registration = "HB 1"
    car.save()
    rows = [
        ["Reg", "Date", "Work"],
        *[["HB 1", "3 Nov 2026", "charged"]] * 2,
        ["HB 1", "4 Nov 2026", "charged"],
    ]
    row = bring_in(barn, keeper, "log", rows)
    assert (row.result["entries"], row.report["counts"]["twins"]) == (2, 1)
    assert Entry.objects.count() == 2


def test_one_car_for_a_whole_log(barn, keeper, car, client_as):
    make_car(barn, car.owner, model="Other")
    row = step(send(barn, keeper, "log", [["Date", "Work"], ["3 Nov 2026", "charged"]]), "check")
    asked = asked_of(row)
    post(client_as(keeper), row, what="asked", **{asked["fixed:car.number", ""]: str(car.pk)})
    post(client_as(keeper), row, what="import")
    assert Entry.objects.get().vehicle == car


def test_an_opendocument_table_comes_in_through_the_child(barn, manager, ada):
    bring_in(barn, manager, "cars", ods_of({"Cars": [row[:4] for row in CARS[:2]]}), "cars.ods")
    assert Vehicle.objects.get().registration == "HB 1"


def run(path, *args):
    out = io.StringIO()
    try:
        call_command("import_table", str(path), "--as", "cars", "--json", *args, stdout=out)
    except CommandError as fault:
        return json.loads(out.getvalue()), str(fault)
    return json.loads(out.getvalue()), ""


def test_the_command_says_what_it_understood_and_stores_what_is_good(barn, manager, ada, tmp_path):
    path = tmp_path / "cars.csv"
    path.write_bytes(csv_of(CARS))
    said, fault = run(path)
    assert "Nothing is stored" in fault
    assert said["columns"]["C"]["means"] == "Registration"
    assert any("jungle juice" in it for it in said["asked"])
    assert not Vehicle.objects.exists()
    said, fault = run(path, "--set-aside", "--dry-run")
    assert (fault, said["set_aside"], said["state"]) == ("", 1, "checked")
    assert not Vehicle.objects.exists()
    said, fault = run(path, "--set-aside")
    assert (fault, said["state"], Vehicle.objects.count()) == ("", "imported", 2)


def test_the_command_takes_one_owner_for_all_and_a_unit_for_a_column(barn, manager, ada, tmp_path):
    path = tmp_path / "cars.csv"
    path.write_bytes(csv_of([["Make", "Model", "Gallons in tank"], ["Wendlow", "Twelve", "6"]]))
    said, _ = run(path, "--owner", "Ada Wren")
    assert said["asked"] == ["unit of column C"]
    run(path, "--owner", "Ada Wren", "--set", "C:unit=UK gal")
    assert round(Vehicle.objects.get().fuel.litres, 2) == 27.28


def test_confirmed_columns_are_remembered_with_their_unit(barn, manager, ada):
    rows = [["Make", "Model", "Gallons in tank"], ["Wendlow", "Twelve", "6"]]
    row = confirm(send(barn, manager, "cars", rows))
    again = send(barn, manager, "cars", rows)
    assert again.mapping["columns"] == row.mapping["columns"]
