"""A car goes out on the road and comes back: two acts with their readings, in the log as kinds that exist."""

import pytest
from django.urls import reverse

from collection.care.actions.care import log_entry
from collection.models import Entry, Evidence
from collection.permissions import access_of
from collection.round.actions.plans import kept_plan
from collection.round.core.facts import facts_of
from collection.round.core.wishes import ready_of
from collection.round.queries.outings import out_since, outing_offered
from tests.barn import TODAY
from tests.round.test_plans import NOW, SOON, at_ten, hand, page, site  # noqa: F401 - fixtures
from tests.round.test_ready import want
from tests.round.test_weeks import fresh

OUT = {
    "way": "out",
    "odometer_km": "51000",
    "fuel": "about half",
    "tyres": "all look well",
    "key": "key-out-1",
}
BACK = {
    "way": "back",
    "odometer_km": "51120",
    "fuel": "about a quarter",
    "minutes": "95",
    "warm": "on",
    "noticed": "Pulls left",
    "key": "key-back-1",
}


@pytest.fixture
def send(page, car):  # noqa: F811
    def post(data, **more):
        return page.client.post(reverse("outing", args=[car.pk]), data | more, follow=True)

    return post


def back(car, bays, **more):
    return BACK | {"bay": str(bays[0].pk)} | more


def test_it_goes_out_and_comes_back_with_its_readings(send, page, car, bays):  # noqa: F811
    assert "is out on the road" in send(OUT).content.decode()
    car.refresh_from_db()
    assert (car.bay, bool(out_since(car))) == (None, True)
    assert "On the road since" in page("car", car.pk)
    assert f'value="{bays[0].pk}" selected' in page("outing", car.pk)
    assert "is back" in send(back(car, bays)).content.decode()
    car.refresh_from_db()
    assert (car.bay, out_since(car)) == (bays[0], None)
    drive = car.entries.get(kind="run_up")
    assert drive.details == {"minutes": 95, "driven": True, "reached_temperature": True, "distance_km": 120.0}
    assert "Fuel in the tank: about a quarter." in drive.note
    assert [row.odometer_km for row in Evidence.objects.order_by("odometer_km")] == [51000.0, 51120.0]
    assert car.entries.get(kind="note").details == {"found": "Something else"}
    assert not car.entries.filter(kind="tag_opened").exists()


def test_each_act_is_stored_once_however_often_it_is_sent(send, car, bays):
    for sent in (OUT, OUT, back(car, bays), back(car, bays)):
        send(sent)
    assert Entry.objects.filter(vehicle=car, kind="moved").count() == 2
    assert Evidence.objects.count() == 2


def test_what_cannot_be_is_refused_and_nothing_is_stored(send, car, bays):
    assert "A tyre is low: pump it up" in send(OUT, tyres="one looks low").content.decode()
    assert "This field is required" in send(OUT, odometer_km="").content.decode()
    assert not Entry.objects.filter(vehicle=car).exists()
    assert "Somebody was quicker" in send(back(car, bays)).content.decode()
    send(OUT)
    assert (
        "It showed more when it was last read" in send(back(car, bays, odometer_km="50000")).content.decode()
    )
    assert "Say what is dangerous" in send(back(car, bays, noticed="", danger="on")).content.decode()
    car.refresh_from_db()
    assert out_since(car)
    assert not car.entries.filter(kind="run_up").exists()


def test_a_car_with_a_warning_tag_does_not_go_out(send, page, car, keeper):  # noqa: F811
    log_entry(
        vehicle=car,
        kind="tag_opened",
        done_at=None,
        by=keeper,
        idempotency_key="tag-key-1",
        now=NOW,
        details={"tag": "danger", "where": "Brakes"},
    )
    assert "It carries a warning tag" in page("outing", car.pk)
    assert "It carries a warning tag" in send(OUT).content.decode()
    assert out_since(car) is None
    assert not Evidence.objects.exists()
    want(car, keeper)
    assert outing_offered(car, TODAY) == ""


def test_a_danger_noticed_on_the_road_hangs_a_tag(send, car, bays):
    send(OUT)
    send(back(car, bays, danger="on"))
    assert car.entries.filter(kind="tag_opened").exists()


def test_nothing_is_planned_at_a_car_that_is_out(send, car, keeper, site, hand):  # noqa: F811
    fresh(car, charge=SOON)
    want(car, keeper)
    assert kept_plan(site=site, today=TODAY, now=NOW).plan.assignments.exists()
    assert ready_of(access_of(keeper), car, TODAY)
    send(OUT)
    assert facts_of(site, TODAY).vehicles == []
    assert not kept_plan(site=site, today=TODAY, now=NOW).plan.assignments.exists()
    car.refresh_from_db()
    assert not ready_of(access_of(keeper), car, TODAY)


def test_it_is_offered_where_a_day_is_wanted_or_the_car_is_out(send, page, car, keeper):  # noqa: F811
    fresh(car)
    assert outing_offered(car, TODAY) == ""
    want(car, keeper)
    link = reverse("outing", args=[car.pk])
    for name in ("car", "worksheet_car"):
        shown = page(name, car.pk)
        assert link in shown
        assert "Goes out" in shown
    send(OUT)
    for name in ("car", "worksheet_car"):
        assert "Comes back" in page(name, car.pk)


def test_a_car_put_in_no_bay_otherwise_is_not_out(car, keeper, site):  # noqa: F811
    log_entry(
        vehicle=car,
        kind="moved",
        done_at=None,
        by=keeper,
        idempotency_key="move-key-1",
        now=NOW,
        details={"wheels_only": False, "to_bay_label": "workshop"},
    )
    car.refresh_from_db()
    assert out_since(car) is None
    assert facts_of(site, TODAY).vehicles == [car]
