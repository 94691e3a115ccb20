"""The page that asks what a year would be if something were kept otherwise."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from collection.care.actions.record import Edit
from collection.due.actions.prices import save_rates
from collection.due.core import whatif as bridge
from collection.models import DutyRow, Owner, Shelter, Threshold
from tests.barn import make_car, make_climate
from tests.logbook import NOON

URL = "/what-if/"
NOTHING = dict.fromkeys(
    (
        "climate",
        "shelter",
        "chemistry",
        "isolated",
        "maintainer",
        "regime",
        "grade",
        "fill",
        "stabilise",
        "threshold",
        "value",
        "hour",
        "kwh",
        "fuel",
        "stabiliser",
        "fluid",
        "maintainer_w",
    ),
    "",
) | {"cars": "all"}


def ask(client, **changes):
    return client.get(URL, NOTHING | changes)


@pytest.fixture
def client(client_as, manager):
    return client_as(manager)


def test_the_page_asks_before_it_answers(client, car):
    response = client.get(URL)
    assert response.status_code == 200
    assert "compared" not in response.context
    assert b"The year in a few figures" not in response.content


def test_the_answer_stands_side_by_side_with_todays_practice(client, car):
    response = ask(client, maintainer="yes")
    compared = response.context["compared"]
    assert compared.cars == 1
    assert compared.changed.done["charge"] == 0 < compared.now.done["charge"]
    assert [line.title for line in response.context["totals"]][:2] == ["Duties done", "Hours of staff"]
    page = response.content.decode()
    assert "on maintainers <strong>yes, all of them</strong>" in page
    assert 'data-figure="figure-work-of-the-year"' in page


def test_nothing_to_change_is_said(client, car):
    response = ask(client)
    assert "compared" not in response.context
    assert "choose at least one thing" in response.content.decode()


def test_nothing_is_stored_and_no_date_moves(client, car):
    client.get("/due/")
    before = list(DutyRow.objects.order_by("pk").values())
    ask(client, chemistry="agm", shelter="open", threshold="recharge_soc", value="90")
    assert list(DutyRow.objects.order_by("pk").values()) == before
    assert not Threshold.objects.exists()


@pytest.mark.parametrize(
    "change",
    [
        {"shelter": "open"},
        {"chemistry": "agm"},
        {"isolated": "yes"},
        {"maintainer": "no"},
        {"regime": "preserved"},
        {"grade": "petrol_e0"},
        {"fill": "40"},
        {"stabilise": "never"},
        {"threshold": "inspect_covered_days", "value": "10"},
    ],
)
def test_every_change_is_worked_out(client, car, change):
    response = ask(client, **change)
    assert response.context["compared"].now.total_done > 0
    assert response.context["form"].changes()


def test_another_climate_is_that_climate(client, car, barn):
    hot = make_climate(barn, "Hot plain")
    for month in hot.months.all():
        month.mean_c, month.min_c, month.max_c = month.mean_c + 20, month.min_c + 20, month.max_c + 20
        month.save()
    compared = ask(client, climate=hot.pk).context["compared"]
    assert compared.changed.done["charge"] > compared.now.done["charge"]


def test_a_shelter_moves_the_walk_rounds(client, car):
    compared = ask(client, shelter=Shelter.OPEN).context["compared"]
    assert compared.changed.done["inspection"] > 2 * compared.now.done["inspection"]


def test_own_rates_set_the_money(client, car):
    compared = ask(client, isolated="yes", hour="0", kwh="0", fuel="0", stabiliser="0", fluid="0").context[
        "compared"
    ]
    assert compared.now.total_money == 0


def test_a_threshold_is_typed_as_the_person_reads_it(client, car, manager):
    manager.units = "american"
    manager.save()
    assert ask(client, threshold="freeze_margin_k", value="18").context[
        "form"
    ].asked().changes.thresholds == {"freeze_margin_k": pytest.approx(10)}


@pytest.mark.parametrize(
    ("sent", "field", "fault"),
    [
        ({"fill": "140"}, "fill", "give 5 to 100"),
        ({"fill": "much"}, "fill", "number"),
        ({"threshold": "recharge_soc"}, "value", "50 to 95 %"),
        ({"threshold": "recharge_soc", "value": "7"}, "value", "50 to 95 %"),
        ({"value": "7"}, "threshold", "Choose the interval or limit"),
        ({"maintainer": "yes", "hour": "-1"}, "hour", "give 0 to 1000"),
        ({"maintainer": "yes", "cars": "car-999999"}, "cars", "valid choice"),
        ({"maintainer": "yes", "cars": "car-x"}, "cars", "valid choice"),
    ],
)
def test_a_wrong_question_names_its_field_and_keeps_the_rest(client, car, sent, field, fault):
    response = ask(client, **sent)
    assert response.status_code == 200
    assert "compared" not in response.context
    assert fault in " ".join(response.context["form"].errors[field])


def test_only_the_cars_chosen_are_worked_out(client, car, neighbour_car):
    assert ask(client, isolated="yes").context["compared"].cars == 2
    assert ask(client, isolated="yes", cars=f"car-{car.pk}").context["compared"].cars == 1
    building = f"building-{car.bay.building_id}"
    assert ask(client, isolated="yes", cars=building).context["compared"].cars == 2


def test_a_car_that_left_is_not_counted(client, car, neighbour_car):
    neighbour_car.left_on = date(2026, 5, 1)
    neighbour_car.save()
    assert ask(client, isolated="yes").context["compared"].cars == 1


def test_an_empty_barn_is_told(client, barn):
    assert "no car stands there" in ask(client, isolated="yes").content.decode()


def test_an_owner_asks_about_their_own_cars_only(client_as, owner, car, neighbour_car):
    client = client_as(owner)
    assert ask(client, isolated="yes").context["compared"].cars == 1
    theirs = ask(client, isolated="yes", cars=f"car-{neighbour_car.pk}")
    assert "cars" in theirs.context["form"].errors
    assert str(neighbour_car) not in theirs.content.decode()


def test_a_foreign_car_does_not_exist(client, car, foreign_car):
    response = ask(client, isolated="yes", cars=f"car-{foreign_car.pk}")
    assert "cars" in response.context["form"].errors
    assert "Nine" not in response.content.decode()


def test_a_foreign_climate_is_no_choice(client, car, other_barn):
    response = ask(client, climate=make_climate(other_barn, "Tarn top").pk)
    assert "climate" in response.context["form"].errors


def test_beyond_the_most_cars_an_even_sample_stands_for_all(client, car, barn, monkeypatch):
    other = Owner.objects.create(organisation=barn, name="Dora Fell")
    for _ in range(5):
        make_car(barn, other)
    monkeypatch.setattr(bridge, "MOST_CARS", 3)
    response = ask(client, isolated="yes")
    assert (response.context["compared"].cars, response.context["compared"].sampled) == (6, 3)
    assert response.context["compared"].now.cars == 6
    assert "3 of the 6 cars" in response.content.decode()


def test_twenty_cars_ask_no_more_queries_than_two(client, barn, car):
    other = Owner.objects.create(organisation=barn, name="Dora Fell")

    def queries():
        with CaptureQueriesContext(connection) as caught:
            assert ask(client, shelter="open").context["compared"]
        return len(caught)

    make_car(barn, other)
    few = queries()
    for _ in range(18):
        make_car(barn, other)
    assert queries() <= few


def test_the_car_and_the_due_page_lead_here(client, car):
    assert f"{URL}?cars=car-{car.pk}" in client.get(f"/cars/{car.pk}/").content.decode()
    assert URL in client.get("/due/").content.decode()
    assert client.get(URL, {"cars": f"car-{car.pk}"}).context["form"]["cars"].value() == f"car-{car.pk}"


def test_the_organisations_own_rates_stand_in_place_of_our_defaults(client, car):
    save_rates(organisation=car.organisation, own={"hour": 90.0}, money="£", edit=Edit(None, NOON))
    assert "90 by your own prices" in client.get(URL).content.decode()

    def staff(**typed):
        return ask(client, isolated="yes", **typed).context["compared"].now.money["staff"]

    assert staff() == pytest.approx(staff(hour="90"))
    assert staff(hour="45") == pytest.approx(staff() / 2)
