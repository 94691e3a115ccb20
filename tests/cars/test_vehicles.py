"""Cars on the record: the list, the pages of one car, and what they refuse."""

from datetime import date

import pytest
import time_machine
from django.core.exceptions import ValidationError
from django.urls import reverse

from collection.care.actions.record import Edit
from collection.cars.actions.batteries import save_battery
from collection.cars.actions.fluids import save_fluids
from collection.cars.actions.vehicles import save_vehicle
from collection.life.core.choices import chemistries, fluid_types, fuel_grades
from collection.models import Battery, DutyRow, Fluid, Fuel, LastUse, Owner, Tyre, Vehicle
from tests.barn import TODAY, make_car
from tests.logbook import NOON

EDIT = Edit(None, NOON)


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(f"{TODAY}T12:00:00Z", tick=False):
        yield


def edit(client, car, part, **sent):
    return client.post(reverse("car_edit", args=[car.pk, part]), sent)


def facts(car, **changed):
    """What the car page sends for a car as it stands."""
    return {
        "owner": car.owner_id,
        "marque": car.marque,
        "model": car.model,
        "year": car.year,
        "regime": car.regime,
        "bay": car.bay_id or "",
        "system_volts": 12,
        "tank_litres": "45",
        "fuel_system": car.fuel_system,
    } | changed


def faults(response):
    """Every fault of every form on the page, by the name of its field."""
    assert response.status_code == 200
    messages = {}
    for form in response.context["forms"]:
        messages |= {form.add_prefix(name): " ".join(texts) for name, texts in form.errors.items()}
    return messages


# the car itself


def test_owner_marque_model_and_regime_are_enough_for_a_car_with_dates(client_as, keeper, barn):
    owner = Owner.objects.create(organisation=barn, name="Ada Wren")
    sent = {"owner": owner.pk, "marque": "Wendlow", "model": "Ten", "regime": "dormant"}
    response = client_as(keeper).post(reverse("car_new"), sent)
    car = Vehicle.objects.get(model="Ten")
    assert response.url == reverse("car", args=[car.pk])
    assert (car.organisation, car.year, car.stored_since, car.bay) == (barn, None, None, None)
    rows = DutyRow.objects.filter(vehicle=car)
    assert rows.exists()
    assert all(row.assumed for row in rows.exclude(due=None))


def test_the_new_car_page_leads_on_to_the_battery_when_asked(client_as, keeper, car):
    sent = {
        "owner": car.owner_id,
        "marque": "Wendlow",
        "model": "Ten",
        "regime": "exercised",
        "and_next": "1",
    }
    response = client_as(keeper).post(reverse("car_new"), sent)
    new = Vehicle.objects.get(model="Ten")
    assert response.url == reverse("car_edit", args=[new.pk, "battery"])


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"stored_since": "2026-11-26"}, "stored_since", "in the future"),
        ({"stored_since": "2026-02-30"}, "stored_since", "valid date"),
        ({"stored_since": "2026-05-02", "left_on": "2026-05-01"}, "left_on", "before in storage since"),
        ({"stored_since": "1951-05-01"}, "stored_since", "before the car was built"),
        ({"year": "1066"}, "year", "1885"),
        ({"year": "2031"}, "year", "not built yet"),
        ({"marque": ""}, "marque", "required"),
        ({"owner": ""}, "owner", "required"),
        ({"owner": "999999"}, "owner", "valid choice"),
        ({"regime": "pampered"}, "regime", "valid choice"),
        ({"tank_litres": "-3"}, "tank_litres", "give 1 to 1000 litres"),
        ({"tank_litres": "nan"}, "tank_litres", "number"),
        ({"tank_litres": "a drop"}, "tank_litres", "number"),
        ({"system_volts": "-12"}, "system_volts", "valid choice"),
    ],
)
def test_bad_facts_about_a_car_are_named_at_their_field_and_nothing_is_saved(
    client_as, keeper, car, changed, field, words
):
    response = edit(client_as(keeper), car, "car", **facts(car, engine="new engine") | changed)
    assert words in faults(response)[field]
    car.refresh_from_db()
    assert car.engine == ""


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"tank_litres": "20"}, "tank_litres", "30 litres are recorded in the tank"),
        ({"system_volts": "6"}, "system_volts", "12 V battery is recorded"),
    ],
)
def test_the_car_cannot_be_made_too_small_for_what_is_in_it(client_as, keeper, car, changed, field, words):
    Fuel.objects.create(vehicle=car, litres=30)
    Battery.objects.create(vehicle=car, volts=12)
    client = client_as(keeper)
    assert words in faults(edit(client, car, "car", **facts(car) | changed))[field]
    assert edit(client, car, "car", **facts(car, tank_litres="")).status_code == 302


def test_a_bay_already_taken_is_not_offered_and_not_taken(client_as, keeper, car, neighbour_car):
    client = client_as(keeper)
    page = client.get(reverse("car_edit", args=[car.pk, "car"]))
    assert neighbour_car.bay not in page.context["forms"][0].fields["bay"].queryset
    response = edit(client, car, "car", **facts(car, bay=neighbour_car.bay_id))
    assert "bay" in faults(response)


def test_the_action_itself_refuses_a_taken_bay_and_names_the_car_there(car, neighbour_car):
    car.bay = neighbour_car.bay
    with pytest.raises(ValidationError) as refusal:
        save_vehicle(vehicle=car, edit=EDIT, today=TODAY)
    assert "1971 Wendlow Sixteen already stands in A2" in refusal.value.message_dict["bay"][0]


def test_a_bay_is_free_again_once_its_car_has_left(client_as, keeper, car, neighbour_car):
    client = client_as(keeper)
    bay = neighbour_car.bay_id
    assert edit(client, neighbour_car, "car", **facts(neighbour_car, left_on="2026-11-20")).status_code == 302
    assert edit(client, car, "car", **facts(car, bay=bay)).status_code == 302
    car.refresh_from_db()
    assert car.bay_id == bay


def test_nothing_crosses_from_another_organisation(car, foreign_car):
    car.owner = foreign_car.owner
    with pytest.raises(ValidationError) as refusal:
        save_vehicle(vehicle=car, edit=EDIT, today=TODAY)
    assert "not in your organisation" in refusal.value.message_dict["owner"][0]


def test_a_chassis_number_with_a_wrong_check_digit_is_kept_with_a_warning(client_as, keeper, car):
    # 1M8GDM9AXKP042788 is the worked number whose check digit is X; here the last figure is changed
    sent = facts(car, year=1989, stored_since="", chassis_number="1M8GDM9AXKP042789")
    response = client_as(keeper).post(reverse("car_edit", args=[car.pk, "car"]), sent)
    assert response.status_code == 302
    car.refresh_from_db()
    assert car.chassis_number == "1M8GDM9AXKP042789"
    notices = [str(message) for message in client_messages(response)]
    assert any("Chassis number kept as typed" in text and "position 9" in text for text in notices)


def client_messages(response):
    from django.contrib.messages import get_messages

    return get_messages(response.wsgi_request)


def test_a_right_chassis_number_brings_no_warning(client_as, keeper, car):
    sent = facts(car, year=1989, stored_since="", chassis_number="1M8GDM9AXKP042788")
    response = client_as(keeper).post(reverse("car_edit", args=[car.pk, "car"]), sent)
    assert [str(message) for message in client_messages(response)] == ["1989 Wendlow Twelve: the car saved."]


def test_a_tank_typed_in_gallons_is_kept_in_litres_and_untouched_it_never_shifts(client_as, keeper, car):
    keeper.units = "american"
    keeper.save()
    client = client_as(keeper)
    page = client.get(reverse("car_edit", args=[car.pk, "car"])).content.decode()
    assert "Tank holds, US gal" in page
    assert 'value="11.888"' in page
    edit(client, car, "car", **facts(car, tank_litres="11.888"))
    car.refresh_from_db()
    assert car.tank_litres == 45
    edit(client, car, "car", **facts(car, tank_litres="10"))
    car.refresh_from_db()
    assert car.tank_litres == pytest.approx(37.85411784)


def test_a_part_that_does_not_exist_is_not_found(client_as, keeper, car):
    assert client_as(keeper).get(reverse("car_edit", args=[car.pk, "roof"])).status_code == 404


@pytest.mark.parametrize("part", ["car", "battery", "new-battery", "fuel", "fluids", "tyres", "last"])
def test_every_part_opens_for_a_car_of_which_nothing_is_known(client_as, keeper, barn, part):
    owner = Owner.objects.create(organisation=barn, name="Ada Wren")
    car = Vehicle.objects.create(organisation=barn, owner=owner, marque="Wendlow", model="Ten")
    assert client_as(keeper).get(reverse("car_edit", args=[car.pk, part])).status_code == 200


# the battery


def battery(**changed):
    return {"chemistry": chemistries()[0][0], "volts": "12", "capacity_ah": "60"} | changed


def test_a_battery_is_recorded_and_shown_again(client_as, keeper, car):
    client = client_as(keeper)
    sent = battery(made_on="2024-02-01", installed_on="2024-04-10", isolated="on", drain_ma="22.5")
    assert edit(client, car, "battery", **sent).status_code == 302
    kept = Battery.objects.get(vehicle=car)
    assert (kept.capacity_ah, kept.installed_on, kept.isolated, kept.drain_ma) == (
        60,
        date(2024, 4, 10),
        True,
        22.5,
    )
    page = client.get(reverse("car_edit", args=[car.pk, "battery"])).content.decode()
    assert 'value="60"' in page
    assert 'value="2024-04-10"' in page


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"volts": "-12"}, "volts", "valid choice"),
        ({"volts": "1000"}, "volts", "valid choice"),
        ({"volts": "24"}, "volts", "12 V system"),
        ({"capacity_ah": "-60"}, "capacity_ah", "greater than or equal to 2"),
        ({"capacity_ah": "60000"}, "capacity_ah", "less than or equal to 400"),
        ({"capacity_ah": "inf"}, "capacity_ah", "number"),
        ({"drain_ma": "-1"}, "drain_ma", "greater than or equal to 0"),
        ({"chemistry": "dilithium"}, "chemistry", "valid choice"),
        ({"made_on": "2026-11-26"}, "made_on", "in the future"),
        ({"made_on": "2024-05-02", "installed_on": "2024-05-01"}, "installed_on", "before Made"),
        (
            {"installed_on": "2024-05-02", "maintainer_since": "2024-05-01"},
            "maintainer_since",
            "before Installed",
        ),
    ],
)
def test_bad_facts_about_a_battery_are_named_at_their_field_and_nothing_is_saved(
    client_as, keeper, car, changed, field, words
):
    messages = faults(edit(client_as(keeper), car, "battery", **battery(**changed)))
    assert words.lower() in messages[field].lower()
    assert not Battery.objects.exists()


def test_the_action_itself_refuses_an_unknown_chemistry(car):
    with pytest.raises(ValidationError) as refusal:
        save_battery(battery=Battery(vehicle=car, chemistry="dilithium"), edit=EDIT, today=TODAY)
    assert "“dilithium” is not a known chemistry" in refusal.value.message_dict["chemistry"][0]


def test_all_faults_of_a_row_are_told_at_once(client_as, keeper, car):
    messages = faults(
        edit(client_as(keeper), car, "battery", **battery(capacity_ah="-4", made_on="2027-01-01"))
    )
    assert set(messages) == {"capacity_ah", "made_on"}


def test_fitting_a_new_battery_takes_the_old_one_out_on_that_day(client_as, keeper, car):
    old = Battery.objects.create(vehicle=car, capacity_ah=44, installed_on=date(2019, 3, 1))
    response = edit(client_as(keeper), car, "new-battery", **battery(installed_on="2026-11-20"))
    assert response.status_code == 302
    old.refresh_from_db()
    assert old.removed_on == date(2026, 11, 20)
    assert car.batteries.get(removed_on=None).capacity_ah == 60


@pytest.mark.parametrize(
    ("day", "words"),
    [("", "on which day"), ("2018-01-01", "1 Mar 2019"), ("2026-11-26", "in the future")],
)
def test_a_new_battery_with_a_bad_day_leaves_the_old_one_in_the_car(client_as, keeper, car, day, words):
    old = Battery.objects.create(vehicle=car, capacity_ah=44, installed_on=date(2019, 3, 1))
    messages = faults(edit(client_as(keeper), car, "new-battery", **battery(installed_on=day)))
    assert words in messages["installed_on"]
    old.refresh_from_db()
    assert old.removed_on is None
    assert car.batteries.count() == 1


# fuel, fluids


def test_fuel_without_a_day_counts_as_found_today(client_as, keeper, car):
    grade = fuel_grades()[0][0]
    assert (
        edit(client_as(keeper), car, "fuel", grade=grade, litres="30", filled_on="2026-03-01").status_code
        == 302
    )
    kept = Fuel.objects.get(vehicle=car)
    assert (kept.grade, kept.litres, kept.as_of) == (grade, 30, TODAY)


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"litres": "46"}, "litres", "give 0 to 45 litres"),
        ({"litres": "-1"}, "litres", "give 0 to 45 litres"),
        ({"grade": "moonshine"}, "grade", "valid choice"),
        ({"bio_pct": "101"}, "bio_pct", "less than or equal to 100"),
        ({"filled_on": "2026-12-24"}, "filled_on", "in the future"),
        ({"filled_on": "2026-05-02", "as_of": "2026-05-01"}, "filled_on", "check both dates"),
    ],
)
def test_bad_facts_about_fuel_are_named_at_their_field_and_nothing_is_saved(
    client_as, keeper, car, changed, field, words
):
    assert words in faults(edit(client_as(keeper), car, "fuel", **changed))[field]
    assert not Fuel.objects.exists()


def test_fluids_are_kept_where_something_is_known_and_forgotten_when_emptied(client_as, keeper, car):
    client = client_as(keeper)
    oil = fluid_types("engine_oil")[0][0]
    sent = {"engine_oil-type": oil, "engine_oil-changed_on": "2025-09-01", "coolant-glycol_pct": "50"}
    assert edit(client, car, "fluids", **sent).status_code == 302
    assert {fluid.kind: fluid.type for fluid in car.fluids.all()} == {"engine_oil": oil, "coolant": ""}
    assert edit(client, car, "fluids").status_code == 302
    assert not car.fluids.exists()


def test_one_bad_fluid_saves_none_of_them(client_as, keeper, car):
    sent = {"engine_oil-changed_on": "2025-09-01", "brake_fluid-changed_on": "2027-01-01"}
    messages = faults(edit(client_as(keeper), car, "fluids", **sent))
    assert list(messages) == ["brake_fluid-changed_on"]
    assert "in the future" in messages["brake_fluid-changed_on"]
    assert not Fluid.objects.exists()


def test_glycol_belongs_to_coolant_only(car):
    with pytest.raises(ValidationError) as refusal:
        save_fluids(
            vehicle=car,
            fluids=[Fluid(vehicle=car, kind="brake_fluid", glycol_pct=40)],
            edit=EDIT,
            today=TODAY,
        )
    assert "brake_fluid-glycol_pct" in refusal.value.message_dict


# tyres


def test_tyres_are_kept_in_kilopascals_whatever_the_person_reads(client_as, keeper, car):
    keeper.units = "british"
    keeper.save()
    client = client_as(keeper)
    sent = {
        "on_stands": "on",
        "front_left-date_code": "2319",
        "front_left-placard_kpa": "26",
        "spare-date_code": "408",
    }
    assert edit(client, car, "tyres", **sent).status_code == 302
    car.refresh_from_db()
    assert car.on_stands
    kept = {tyre.position: tyre for tyre in car.tyres.all()}
    assert kept["front_left"].placard_kpa == pytest.approx(179.26, abs=0.01)
    assert (set(kept), kept["spare"].date_code) == ({"front_left", "spare"}, "408")
    assert 'value="26"' in client.get(reverse("car_edit", args=[car.pk, "tyres"])).content.decode()


@pytest.mark.parametrize("code", ["5419", "0019", "23", "ABCD", "2327"])
def test_a_date_code_that_the_regulation_does_not_know_is_refused(client_as, keeper, car, code):
    response = edit(client_as(keeper), car, "tyres", **{"on_stands": "on", "rear_left-date_code": code})
    assert faults(response)["rear_left-date_code"]
    car.refresh_from_db()
    assert not car.on_stands
    assert not Tyre.objects.exists()


def test_an_absurd_pressure_is_told_in_the_unit_of_the_person(client_as, keeper, car):
    messages = faults(edit(client_as(keeper), car, "tyres", **{"spare-placard_kpa": "26"}))
    assert messages == {"spare-placard_kpa": "26 is out of range: give 0.5 to 9 bar."}


# last times


def test_the_five_last_times_are_kept_with_how_they_are_known(client_as, keeper, car):
    sent = {
        "road_use-on": "2026-02-20",
        "road_use-basis": "owner",
        "engine_run-on": "2026-03-01",
        "engine_run-basis": "document",
    }
    assert edit(client_as(keeper), car, "last", **sent).status_code == 302
    kept = {use.event: (use.on, use.basis) for use in car.last_uses.all()}
    assert kept == {"road_use": (date(2026, 2, 20), "owner"), "engine_run": (date(2026, 3, 1), "document")}


@pytest.mark.parametrize(
    ("sent", "field", "words"),
    [
        ({"moved-on": "2026-11-26", "moved-basis": "owner"}, "moved-on", "in the future"),
        ({"moved-on": "2026-11-01"}, "moved-basis", "how this date is known"),
        (
            {
                "full_warm-on": "2026-05-01",
                "full_warm-basis": "owner",
                "engine_run-on": "2026-04-01",
                "engine_run-basis": "owner",
            },
            "engine_run-on",
            "cannot be before full-warm run",
        ),
    ],
)
def test_last_times_that_cannot_be_are_named_and_none_is_saved(client_as, keeper, car, sent, field, words):
    assert words in faults(edit(client_as(keeper), car, "last", **sent))[field]
    assert not LastUse.objects.exists()


# dates follow the record


def test_saving_the_fuel_moves_its_dates_at_once(client_as, keeper, car):
    client = client_as(keeper)
    duties = ("stabiliser", "fuel_change")

    def dates(filled):
        assert (
            edit(client, car, "fuel", grade=fuel_grades()[0][0], litres="30", filled_on=filled).status_code
            == 302
        )
        return list(
            DutyRow.objects.filter(vehicle=car, duty__in=duties)
            .order_by("duty")
            .values_list("due", flat=True)
        )

    assert dates("2026-11-01") != dates("2024-11-01")


@pytest.mark.parametrize(
    ("part", "sent"),
    [
        ("last", {"full_warm-on": "1931-01-01", "full_warm-basis": "owner"}),
        ("last", {"moved-on": "0001-01-01", "moved-basis": "inferred"}),
        ("fuel", {"filled_on": "1950-01-01", "litres": "0"}),
        ("fluids", {"coolant-changed_on": "1950-01-01", "coolant-glycol_pct": "100"}),
        ("battery", {"made_on": "1960-01-01", "capacity_ah": "2", "drain_ma": "5000"}),
        ("battery", {"maintainer_since": "1950-01-01", "capacity_ah": "400", "full_sg": "1.35"}),
        ("tyres", {"front_left-date_code": "010", "front_left-placard_kpa": "0.5"}),
    ],
)
def test_the_oddest_facts_that_may_be_typed_still_give_dates(client_as, keeper, car, part, sent):
    client = client_as(keeper)
    assert edit(client, car, part, **sent).status_code == 302
    assert DutyRow.objects.filter(vehicle=car).exists()
    assert client.get(reverse("car", args=[car.pk])).status_code == 200


# the list


def titles(response):
    return [str(car) for car in response.context["cars"]]


def test_the_list_finds_by_text_owner_site_and_regime(client_as, keeper, car, neighbour_car):
    neighbour_car.regime = "preserved"
    neighbour_car.registration = "HB 71"
    neighbour_car.save()
    client = client_as(keeper)
    for query in (
        "text=sixteen",
        "text=wendlow 71",
        f"owner={neighbour_car.owner_id}",
        "regime=preserved",
        "text=toller",
    ):
        assert titles(client.get(f"/cars/?{query}")) == ["1971 Wendlow Sixteen"], query
    assert len(titles(client.get(f"/cars/?site={car.bay.building.site_id}"))) == 2
    assert titles(client.get("/cars/?text=zzz")) == []


def test_cars_that_left_are_listed_only_when_asked_for(client_as, keeper, car, neighbour_car):
    Vehicle.objects.filter(pk=car.pk).update(left_on=date(2026, 10, 1))
    client = client_as(keeper)
    assert titles(client.get("/cars/")) == ["1971 Wendlow Sixteen"]
    assert len(titles(client.get("/cars/?left=on"))) == 2


def test_an_owner_sees_their_own_cars_and_no_others(client_as, owner, car, neighbour_car, foreign_car):
    assert titles(client_as(owner).get("/cars/")) == ["1962 Wendlow Twelve"]


def test_a_filter_that_makes_no_sense_hides_nothing(client_as, keeper, car):
    assert len(titles(client_as(keeper).get("/cars/?site=abc&regime=x&owner=-1"))) == 1


@pytest.mark.parametrize("number", [2, 20])
def test_the_list_costs_the_same_queries_for_two_cars_and_for_twenty(
    client_as, keeper, barn, bays, number, django_assert_num_queries
):
    owner = Owner.objects.create(organisation=barn, name="Ada Wren")
    for each in range(number):
        make_car(barn, owner, bays[each] if each < len(bays) else None, model=f"No {each}")
    client = client_as(keeper)
    with django_assert_num_queries(8):
        assert len(titles(client.get("/cars/"))) == number
