"""One search finds cars, owners, bays and notes, and only what its reader may see."""

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from collection.models import Owner, Vehicle
from tests.barn import make_car
from tests.logbook import NOON, write


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


def matches_of(client, text):
    response = client.get("/find/", {"q": text})
    assert response.status_code == 200
    return response.context["matches"]


@pytest.fixture
def known(car):
    car.registration, car.chassis_number, car.notes = "HN 1962", "WT/0417", "Choke sticks when cold"
    car.save()
    return car


@pytest.mark.parametrize("text", ["twelve", "wendlow 1962", "hn 1962", "wt/04", "HN"])
def test_a_car_is_found_by_what_it_is_called(client_as, keeper, known, neighbour_car, text):
    assert matches_of(client_as(keeper), text).cars == [known]


def test_an_owner_a_bay_and_notes_are_found(client_as, keeper, known, neighbour_car):
    entry = write(neighbour_car, keeper, "note", 3, note="Mouse nest behind the seat")
    client = client_as(keeper)
    assert [owner.name for owner in matches_of(client, "ada").owners] == ["Ada Wren"]
    (bay,) = matches_of(client, "a1").bays
    assert (bay.label, bay.standing) == ("A1", [known])
    assert len(matches_of(client, "long shed").bays) == 3
    assert matches_of(client, "choke cold").notes == [known]
    assert matches_of(client, "mouse nest").entries == [entry]


def test_what_was_corrected_is_not_found(client_as, keeper, car):
    wrong = write(car, keeper, "note", 3, note="Mouse nest")
    write(car, keeper, "withdrawn", 2, corrects=wrong)
    assert matches_of(client_as(keeper), "mouse").count == 0


def test_an_owner_finds_nothing_of_others(client_as, owner, keeper, known, neighbour_car):
    write(neighbour_car, keeper, "note", 3, note="Mouse nest")
    Vehicle.objects.filter(pk=neighbour_car.pk).update(notes="Mouse too")
    client = client_as(owner)
    assert [matches_of(client, text).count for text in ("sixteen", "toller", "mouse")] == [0, 0, 0]
    (bay,) = matches_of(client, "a2").bays
    assert bay.standing == []
    assert matches_of(client, "twelve").cars == [known]


def test_nothing_of_another_organisation_is_found(client_as, manager, foreign_car):
    assert [matches_of(client_as(manager), text).count for text in ("nine", "marsh")] == [0, 0]


def test_a_car_that_left_is_found_and_says_so(client_as, keeper, car):
    Vehicle.objects.filter(pk=car.pk).update(left_on="2026-11-01", bay=None)
    assert "left Sun 1 Nov 2026" in client_as(keeper).get("/find/?q=twelve").content.decode()


@pytest.mark.parametrize("text", ["", "   ", "%", "_", "'", "A99999999999999999999", "٣", "<b>"])
def test_odd_words_find_nothing_and_break_nothing(client_as, keeper, car, text):
    answer = client_as(keeper).get("/find/", {"q": text})
    assert answer.status_code == 200
    assert answer.context["matches"] is None or answer.context["matches"].count == 0
    assert "<b>" not in answer.content.decode().split("<h1>")[1].split("</h1>")[0]


def test_the_field_stands_on_every_page_and_needs_no_script(client_as, keeper, car):
    for address in ("/collection/", "/due/", "/week/", f"/cars/{car.pk}/", "/help/", "/me/"):
        html = client_as(keeper).get(address).content.decode()
        assert 'action="/find/"' in html
        assert 'accesskey="k"' in html


def test_many_finds_are_cut_and_say_so_and_ask_no_more_of_the_database(client_as, keeper, barn, car):
    client, counts = client_as(keeper), []
    for many in (2, 40):
        for number in range(many):
            owner = Owner.objects.create(organisation=barn, name=f"Wendlow {many} {number}")
            one = make_car(barn, owner, model=f"No. {number}", notes="Wendlow club")
            write(one, keeper, "note", 3, note="wendlow")
        client.get("/find/?q=wendlow")
        with CaptureQueriesContext(connection) as queries:
            client.get("/find/?q=wendlow")
        counts.append(len(queries))
    shown = matches_of(client, "wendlow")
    assert (len(shown.cars), len(shown.owners), len(shown.notes), len(shown.entries)) == (20, 20, 20, 20)
    assert shown.more
    assert counts[0] == counts[1]


def test_the_cars_where_one_wrote_last_stand_there_before_anything_is_asked(
    client_as, keeper, manager, car, neighbour_car
):
    for one, by, days in ((car, keeper, 9), (neighbour_car, keeper, 3), (car, keeper, 5), (car, manager, 1)):
        write(one, by, "note", days)
    assert client_as(keeper).get("/find/").context["recent"] == [neighbour_car, car]
    assert client_as(manager).get("/find/").context["recent"] == [car]
