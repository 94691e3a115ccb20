"""A collection begins with few answers: a place, a line for each car, and what is usual for its kind."""

import pytest
import time_machine
from django.urls import reverse

from collection.care.actions.care import log_entry
from collection.care.actions.floor import floor_of
from collection.cars.words import car_panel
from collection.due.core.surer import measure_first
from collection.handover.queries.record import record_of
from collection.models import (
    UNMARKED,
    Bay,
    Building,
    Climate,
    DutyRow,
    Organisation,
    Owner,
    Person,
    Site,
    Vehicle,
)
from collection.web.units import edge
from tests.barn import TODAY, make_car, make_climate, make_person
from tests.logbook import NOON
from tests.spreadsheets.tables_of import bring_in


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(f"{TODAY}T12:00:00Z", tick=False):
        yield


@pytest.fixture
def bare(db):
    """An organisation with nothing but its manager."""
    organisation = Organisation.objects.create(name="Ferrow Garage")
    return make_person("ada@ferrow.example", organisation, "manager")


@pytest.fixture
def climate(db):
    return make_climate(None, "Temperate inland, generic")


def place(at, **changed):
    answers = {"name": "Ferrow", "climate": at.pk, "kind": "garage", "whose": "mine"}
    return answers | {"time_zone": "Europe/Vienna"} | changed


def lines(*cars, **common):
    """What the page of several cars sends."""
    sent = {"lines": "8", "building": Building.objects.latest("pk").pk, "regime": "exercised"} | common
    for number, car in enumerate(cars, 1):
        sent |= {f"{number}-{name}": value for name, value in car.items()}
    return sent


EIGHT = {"marque": "Brackwater", "model": "Eight", "year": "1938"}
NINE = {"marque": "Ostler", "model": "Nine", "year": "1974", "driven_on": "2026-10-18"}


def test_an_empty_collection_leads_a_manager_to_the_start(client_as, bare):
    page = client_as(bare).get(reverse("collection")).content.decode()
    assert f'href="{reverse("start")}"' in page
    assert "No car stands here yet" in page


@pytest.mark.parametrize(
    ("name", "leads_to"),
    [("places", "start"), ("car_new", "start"), ("car_arrive", "owner_new"), ("sensor_new", "start")],
)
def test_every_page_of_an_empty_barn_leads_on(client_as, bare, name, leads_to):
    page = client_as(bare).get(reverse(name)).content.decode()
    assert f'href="{reverse(leads_to)}' in page[page.index("<main") :]


def test_the_second_page_says_so_until_there_is_a_car(started):
    assert "2 of 2" in started.get(reverse("start_cars")).content.decode()
    started.post(reverse("start_cars"), lines(EIGHT))
    page = started.get(reverse("start_cars")).content.decode()
    assert "2 of 2" not in page
    assert 'popovertarget="word-assumed"' in page


def test_one_page_makes_site_building_and_owner_and_leads_on_to_the_cars(client_as, bare, climate):
    answer = client_as(bare).post(reverse("start"), place(climate, heated="on"))
    assert answer.url == reverse("start_cars")
    site = Site.objects.get()
    assert (site.name, site.time_zone, site.climate) == ("Ferrow", "Europe/Vienna", climate)
    assert site.buildings.get().shelter == "heated"
    assert Owner.objects.get().person == bare


def test_cars_of_several_owners_have_an_owner_each(client_as, bare, climate):
    client = client_as(bare)
    client.post(reverse("start"), place(climate, whose="theirs"))
    client.post(
        reverse("start_cars"), lines(EIGHT | {"owner": "Ada Wren"}, NINE | {"owner": "ada wren"}, lines="8")
    )
    assert Owner.objects.get().name == "Ada Wren"
    assert Vehicle.objects.count() == 2


@pytest.mark.parametrize(
    ("changed", "field", "fault"),
    [
        ({"time_zone": "Mars/Olympus"}, "time_zone", "is not a time zone"),
        ({"kind": "outdoors", "heated": "on"}, "heated", "cannot be heated"),
        ({"name": ""}, "name", "required"),
        ({"kind": "castle"}, "kind", "Select a valid choice"),
        ({"climate": "9" * 30}, "climate", "Select a valid choice"),
    ],
)
def test_a_wrong_answer_is_named_at_its_field_and_nothing_is_stored(
    client_as, bare, climate, changed, field, fault
):
    answer = client_as(bare).post(reverse("start"), place(climate, **changed))
    assert fault in " ".join(answer.context["form"].errors[field])
    assert not Site.objects.exists()
    assert not Owner.objects.exists()


def test_the_browsers_names_of_greenwich_are_one_zone(client_as, bare, climate):
    client_as(bare).post(reverse("start"), place(climate, time_zone="Etc/UTC"))
    assert Site.objects.get().time_zone == "UTC"


@pytest.fixture
def started(client_as, bare, climate):
    client = client_as(bare)
    client.post(reverse("start"), place(climate))
    return client


def test_each_car_stands_in_the_building_and_in_no_bay(started):
    answer = started.post(reverse("start_cars"), lines(EIGHT, NINE))
    assert answer.url == reverse("collection")
    cars = list(Vehicle.objects.all())
    assert {car.bay.label for car in cars} == {"no bay"}
    assert len({car.bay_id for car in cars}) == 2
    assert started.get(reverse("collection")).content.decode().count("Garage") >= 2
    plan = started.get(reverse("floor_plan")).content.decode()
    assert all(str(car) in plan for car in cars)
    assert "no bay" in plan
    places = started.get(reverse("places")).content.decode()
    assert all(str(car) in places for car in cars)


def test_what_is_usual_for_a_car_of_its_year_is_on_record_as_assumed(started):
    started.post(reverse("start_cars"), lines(EIGHT, NINE | {"kind": "mechanical_injection"}))
    old, chosen = Vehicle.objects.order_by("year")
    assert (old.system_volts, old.fuel_system, old.system_volts_known) == (6, "carburettor", None)
    assert chosen.fuel_system == "mechanical_injection"
    facts = dict(car_panel(old, edge("metric")).facts)
    assert facts["Electrical system"] == "6 V (assumed from its kind)"
    assert record_of(old)["car"]["system_volts"] is None
    why = started.get(reverse("why", args=[old.pk, "charge"])).content.decode()
    assert "voltage is not recorded: taken as 6 V" in why


def test_a_date_is_less_sure_until_somebody_has_looked_at_what_is_assumed(started):
    started.post(reverse("start_cars"), lines(EIGHT))
    car = Vehicle.objects.get()
    known = {"vehicle": car, "by": Person.objects.get(), "now": NOON, "idempotency_key": "charged"}
    log_entry(kind="charge", done_at=NOON, details={"completed": True}, **known)
    before = DutyRow.objects.get(vehicle=car, duty="charge")
    started.post(reverse("car_edit", args=[car.pk, "car"]), record(car, looked="on"))
    after = DutyRow.objects.get(vehicle=car, duty="charge")
    assert before.early < after.early
    assert (before.due, before.late) == (after.due, after.late)


def test_a_car_without_a_year_or_a_kind_has_nothing_assumed(started):
    started.post(reverse("start_cars"), lines(EIGHT | {"year": ""}))
    car = Vehicle.objects.get()
    assert (car.assumed, car.system_volts, car.fuel_system) == ("", None, "")


def record(car, **changed):
    """What the page of the car sends."""
    same = ("owner_id", "marque", "model", "year", "regime", "fuel_system", "system_volts")
    sent = {name.removesuffix("_id"): getattr(car, name) for name in same}
    return sent | {"bay": car.bay_id} | changed


def test_what_somebody_changes_or_looked_at_is_assumed_no_longer(started):
    started.post(reverse("start_cars"), lines(EIGHT))
    car = Vehicle.objects.get()
    address = reverse("car_edit", args=[car.pk, "car"])
    assert "I looked" in started.get(address).content.decode()
    started.post(address, record(car))
    assert Vehicle.objects.get().assumed_fields == {"fuel_system", "system_volts"}
    started.post(address, record(car, system_volts=12))
    assert Vehicle.objects.get().assumed_fields == {"fuel_system"}
    started.post(address, record(car, system_volts=12, looked="on"))
    assert Vehicle.objects.get().assumed == ""
    page = started.get(reverse("car", args=[car.pk])).content.decode()
    assert "assumed from its kind: changed" not in page
    assert "no longer fuel system" in page


def test_a_battery_of_twelve_volts_may_be_measured_in_a_car_of_which_six_are_assumed(started):
    started.post(reverse("start_cars"), lines(EIGHT))
    car = Vehicle.objects.get()
    sent = {"rested_volts": "12.5", "done_at_0": "2026-11-25", "done_at_1": "09:00"}
    page = started.get(reverse("log_kind", args=[car.pk, "battery_reading"]))
    names = [field.html_name for field in page.context["form"]]
    volts = next(name for name in names if name.endswith("rested_volts"))
    hidden = {field.html_name: field.value() for field in page.context["form"].hidden_fields()}
    answer = started.post(
        reverse("log_kind", args=[car.pk, "battery_reading"]), hidden | sent | {volts: "12.5"}
    )
    assert not any("6 V system" in str(fault) for fault in getattr(answer, "context", None) or ())
    assert car.entries.exists()


def test_every_line_with_a_fault_says_so_and_none_is_stored(started):
    answer = started.post(
        reverse("start_cars"),
        lines({"marque": "Ostler"}, NINE | {"year": "2090"}, NINE | {"driven_on": "2027-01-01"}, EIGHT),
    )
    errors = [row.errors for row in answer.context["rows"]]
    assert "Say the model" in errors[0]["model"][0]
    assert not Vehicle.objects.exists()
    answer = started.post(
        reverse("start_cars"), lines(NINE | {"year": "2090"}, NINE | {"driven_on": "2027-01-01"}, EIGHT)
    )
    errors = [row.errors for row in answer.context["rows"]]
    assert "not built yet" in errors[0]["year"][0]
    assert "in the future" in errors[1]["driven_on"][0]
    assert not errors[2]
    assert not Vehicle.objects.exists()


def test_more_lines_keep_what_was_written_and_store_nothing(started):
    answer = started.post(reverse("start_cars"), lines(EIGHT, NINE | {"year": "x"}) | {"more": "1"})
    rows = answer.context["rows"]
    assert len(rows) == 16
    assert rows[0]["marque"].value() == "Brackwater"
    assert rows[1]["year"].value() == "x"
    assert not any(row.errors for row in rows)
    assert not Vehicle.objects.exists()


@pytest.mark.parametrize("count", ["", "-5", "99999999999999999999", "eight", "٣"])
def test_a_page_has_a_sound_number_of_lines_whatever_is_asked(started, count):
    answer = started.post(reverse("start_cars"), lines(lines=count) | {"more": "1"})
    assert 8 <= len(answer.context["rows"]) <= 64


def test_an_empty_page_asks_for_one_car(started):
    answer = started.post(reverse("start_cars"), lines())
    assert "one car at least" in answer.content.decode()


def test_a_bay_on_the_floor_never_runs_out(barn, client_as, manager, car):
    garage = Building.objects.get()
    client = client_as(manager)
    sent = {"lines": "8", "building": garage.pk, "regime": "exercised"}
    for _ in range(2):
        number_of = {f"{n}-{name}": v for n in range(1, 9) for name, v in NINE.items()}
        client.post(reverse("start_cars"), sent | number_of)
    floor = Bay.objects.filter(row=UNMARKED)
    assert floor.count() == 16
    assert all(bay.vehicles.count() == 1 for bay in floor)


def test_a_car_is_moved_out_of_its_bay_into_the_building(client_as, manager, barn, car):
    client, building = client_as(manager), Building.objects.get()
    client.post(reverse("building_edit", args=[building.pk]), _building(building))
    spot = Bay.objects.get(row=UNMARKED)
    answer = client.post(reverse("car_edit", args=[car.pk, "car"]), record(car, bay=spot.pk))
    assert answer.status_code == 302
    car.refresh_from_db()
    assert str(car.bay) == "Long shed, no bay"
    other = make_car(barn, car.owner, None, model="Sixteen")
    client.post(reverse("car_edit", args=[other.pk, "car"]), record(other, bay=spot.pk))
    other.refresh_from_db()
    assert not other.bay.is_marked
    assert other.bay != car.bay


def test_a_move_into_the_building_is_logged_and_finds_room_each_time(client_as, keeper, barn, bays, car):
    spot = floor_of(Building.objects.get())
    other = make_car(barn, car.owner, bays[2], model="Sixteen")
    for one in (car, other):
        log_entry(
            vehicle=one,
            kind="moved",
            done_at=NOON,
            by=keeper,
            now=NOON,
            idempotency_key=f"to the floor {one.pk}",
            details={"wheels_only": False, "to_bay": spot.pk},
        )
        one.refresh_from_db()
        assert one.entries.get().details["to_bay_label"] == "Long shed, no bay"
        assert one.entries.get().details["to_bay"] == one.bay_id
    assert car.bay == spot
    assert other.bay not in (spot, bays[2])


def _building(building):
    return {"name": building.name, "shelter": building.shelter, "walk_order": building.walk_order}


def test_a_building_with_nothing_but_its_floor_can_be_removed(started):
    building = Building.objects.get()
    started.post(reverse("building_edit", args=[building.pk]), _building(building) | {"remove": "1"})
    assert not Building.objects.exists()


def test_a_table_may_name_the_building_alone(started, bare):
    rows = [["Make", "Model", "Year", "Owner", "Bay"]]
    rows += [["Ostler", f"No {n}", 1974, "Ada Wren", "Garage"] for n in range(3)]
    bring_in(Organisation.objects.get(), bare, "cars", rows)
    assert {str(car.bay) for car in Vehicle.objects.all()} == {"Garage, no bay"}
    assert len({car.bay_id for car in Vehicle.objects.all()}) == 3


def test_what_would_make_dates_surer_is_worked_out_and_goes_when_it_is_known(started):
    started.post(reverse("start_cars"), lines(EIGHT, NINE))
    cars = list(Vehicle.objects.order_by("pk"))
    acts = measure_first(cars, today=TODAY)
    assert len(acts) == 3
    assert [act.days for act in acts] == sorted((act.days for act in acts), reverse=True)
    assert "To be surer" in started.get(reverse("collection")).content.decode()
    by_code = {act.measure.code: act for act in acts}
    first = by_code["fuel_filled"]
    started.post(reverse("car_edit", args=[first.vehicle.pk, "fuel"]), {"filled_on": "2026-10-01"})
    again = {act.measure.code: act for act in measure_first(cars, today=TODAY)}
    assert again["fuel_filled"].vehicle != first.vehicle
    assert again["fuel_filled"].others == first.others - 1


def test_only_a_manager_starts(client_as, barn, keeper, viewer, owner):
    for person in (keeper, viewer, owner):
        for name in ("start", "start_cars"):
            assert client_as(person).get(reverse(name)).status_code == 403


def test_who_has_a_place_already_goes_on_to_the_cars(client_as, manager, barn):
    assert client_as(manager).get(reverse("start")).url == reverse("start_cars")


def test_generic_climates_are_offered(client_as, bare, climate):
    assert climate in client_as(bare).get(reverse("start")).context["form"].fields["climate"].queryset
    assert Climate.objects.filter(organisation=None).exists()


@pytest.mark.parametrize(
    ("text", "cars"),
    [
        (
            "Make\tModel\tBuilt\tLast driven\nOstler\tNine\t1974\t18.10.2026\nCalder\tFalconet GT\t1987\t",
            [("Ostler", "Nine", "1974", "2026-10-18"), ("Calder", "Falconet GT", "1987", "")],
        ),
        (
            "1962 Wendlow Twelve\nBrackwater Eight (1938)",
            [("Wendlow", "Twelve", "1962", ""), ("Brackwater", "Eight", "1938", "")],
        ),
        ("Ostler;Nine;1974;03/04/2026\n;;;\n", [("Ostler", "Nine", "1974", "03/04/2026")]),
        (
            "Ostler;Nine;1974;03/04/2026\nCalder;One;1987;18/04/2026\nCalder;Two;1988;4/4/2026",
            [
                ("Ostler", "Nine", "1974", "2026-04-03"),
                ("Calder", "One", "1987", "2026-04-18"),
                ("Calder", "Two", "1988", "2026-04-04"),
            ],
        ),
        (
            "Ostler;Nine;1974;03/04/2026\nCalder;One;1987;04/18/2026",
            [("Ostler", "Nine", "1974", "2026-03-04"), ("Calder", "One", "1987", "2026-04-18")],
        ),
        (
            "Make;Model;Last driven\nOstler;Nine;summer 2019\nOstler;Ten;2026-13-40",
            [("Ostler", "Nine", "", "summer 2019"), ("Ostler", "Ten", "", "2026-13-40")],
        ),
        ("Jahr,Marke,Modell\n1991,Brackwater,Carrier", [("Brackwater", "Carrier", "1991", "")]),
        ('"Ostler, Sons"\tNine\t2026-10-18\t1974', [("Ostler, Sons", "Nine", "1974", "2026-10-18")]),
    ],
)
def test_a_pasted_list_fills_the_lines_and_stores_nothing(started, text, cars):
    page = started.post(reverse("start_cars"), {"paste": "1", "pasted": text})
    for row, car in zip(page.context["rows"], cars, strict=False):
        assert tuple(row.initial.get(name, "") for name in ("marque", "model", "year", "driven_on")) == car
    assert page.context["pasted"] == len(cars)
    assert not Vehicle.objects.exists()


def test_days_that_read_both_ways_are_asked_about_once_for_the_whole_list(started):
    text = "Ostler;Nine;1974;03/04/2026\nCalder;One;1987;05.06.2026\nCalder;Two;1988;07/08/2026"
    sent = {"paste": "1", "pasted": text}
    page = started.post(reverse("start_cars"), sent).content.decode()
    assert "“03/04/2026” reads both ways" in page
    assert "The day: Fri 3 Apr 2026" in page
    assert "The month: Wed 4 Mar 2026" in page
    for order, days in (
        ("day", ["2026-04-03", "2026-06-05", "2026-08-07"]),
        ("month", ["2026-03-04", "2026-06-05", "2026-07-08"]),
    ):
        answered = started.post(reverse("start_cars"), sent | {"order": order})
        assert [row.initial["driven_on"] for row in answered.context["rows"][:3]] == days
        assert "both ways" not in answered.content.decode()


def test_a_day_that_nobody_can_be_sure_of_stays_in_its_line_and_is_a_fault_there(started):
    page = started.post(reverse("start_cars"), {"paste": "1", "pasted": "Ostler;Nine;1974;03/04/2026"})
    shown = str(page.context["rows"][0]["driven_on"])
    assert 'type="text"' in shown
    assert "03/04/2026" in shown
    assert 'type="date"' in str(page.context["rows"][1]["driven_on"])
    for written, fault in (
        ("03/04/2026", "reads both ways: write 2026-04-03 or 2026-03-04"),
        ("2026-13-40", "Write the day as"),
        ("summer 2019", "Write the day as"),
    ):
        answer = started.post(reverse("start_cars"), lines(NINE | {"driven_on": written}))
        row = answer.context["rows"][0]
        assert fault in row.errors["driven_on"][0]
        assert written in str(row["driven_on"])
    assert not Vehicle.objects.exists()
    started.post(reverse("start_cars"), lines(NINE | {"driven_on": "18/10/2026"}))
    assert Vehicle.objects.get().last_uses.get().on.isoformat() == "2026-10-18"


@pytest.mark.parametrize("text", ["", "\n\n", "\0", "\t\t;;,,", '"', "x" * 30_000])
def test_whatever_is_pasted_the_page_stands(started, text):
    assert started.post(reverse("start_cars"), {"paste": "1", "pasted": text}).status_code == 200
    assert not Vehicle.objects.exists()


def test_what_the_lines_have_no_room_for_is_named(started):
    text = "make;model;year;colour\nOstler;Nine;1974;Dove grey\nCalder (S);Two;1962;"
    page = started.post(reverse("start_cars"), {"paste": "1", "pasted": text})
    assert page.context["left_out"] == ("Dove grey",)
    assert "Not taken: Dove grey." in " ".join(page.content.decode().split())
    many = "\n".join(f"Calder No{n} 1990" for n in range(200))
    page = started.post(reverse("start_cars"), {"paste": "1", "pasted": many})
    assert page.context["too_many"] == 200 - page.context["pasted"] > 0
    assert page.context["left_out"] == ()
    assert "lines more than fit here" in " ".join(page.content.decode().split())


def test_what_was_pasted_is_written_down_as_what_was_typed(started):
    started.post(reverse("start_cars"), lines(EIGHT, NINE))
    assert Vehicle.objects.count() == 2
    page = started.post(
        reverse("start_cars"), {"paste": "1", "pasted": "\n".join(f"Calder No{n} 1990" for n in range(20))}
    )
    assert (page.context["pasted"], len(page.context["rows"])) == (20, 20)
