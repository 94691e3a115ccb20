"""A car wanted on a day: kept, planned backwards, named on the week and the car's page, ended."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from collection.models import Assignment, ReadyBy
from collection.permissions import access_of
from collection.round.actions.ready import want_ready
from collection.round.core.facts import facts_of, stamp_of
from collection.round.core.wishes import ready_of
from tests.barn import TODAY
from tests.round.test_plans import NOW, at_ten, hand, page, planned, site  # noqa: F401 - fixtures
from tests.round.test_weeks import duty, fresh

SHOW = date(2026, 12, 4)  # a Friday nine days on
DUE = {"early": TODAY, "due": SHOW, "late": SHOW + timedelta(days=30)}


def want(car, keeper, day=SHOW, purpose="show"):
    return want_ready(vehicle=car, day=day, purpose=purpose, by=keeper, today=TODAY, now=NOW)


def state(car, keeper):
    [only] = ready_of(access_of(keeper), car, TODAY)
    return only


def test_what_is_due_by_the_day_is_planned_before_it_and_both_pages_name_it(page, car, keeper, hand):  # noqa: F811
    fresh(car, inspection=DUE)
    page.client.post(reverse("ready", args=[car.pk]), {"day": SHOW.isoformat(), "purpose": "show"})
    shown = state(car, keeper)
    days = {each.duty: each.on for each in shown.planned}
    assert days.keys() == {"inspection", "charge", "tyre_pressure"}
    assert max(days.values()) < SHOW
    assert min(days["charge"], days["tyre_pressure"]) >= SHOW - timedelta(days=3)
    assert not shown.troubles
    for name, args in (("week", ()), ("car", (car.pk,)), ("ready", (car.pk,))):
        assert "ready by Fri 4 Dec: show" in page(name, *args).replace("Ready", "ready")
    assert "For Fri 4 Dec: show." in Assignment.objects.get(key=f"{car.pk}/inspection").reason


def test_what_cannot_be_done_in_time_is_told_with_its_reason(page, car, keeper, hand):  # noqa: F811
    type(hand).objects.update(may=["charge", "tyre_pressure"])
    fresh(car, inspection=DUE, coolant=DUE)
    duty(car, "coolant", **DUE, hold="the engine is drained")
    unknown = duty(car, "brake_fluid", due=None)
    type(unknown).objects.filter(pk=unknown.pk).update(unknown=True)
    want(car, keeper)
    shown = state(car, keeper)
    why = {each.duty: each.why for each in shown.troubles}
    assert why.keys() == {"inspection", "coolant"}
    assert "nobody who may do it is at work" in why["inspection"]
    assert why["coolant"] == "held back: the engine is drained"
    assert shown.unknown == ("Brake fluid",)
    told = page("week")
    assert "Not in time" in told
    assert "held back: the engine is drained" in told


def test_without_hours_it_says_that_nothing_is_planned(page, car, keeper):  # noqa: F811
    fresh(car, inspection=DUE)
    want(car, keeper)
    assert {each.why for each in state(car, keeper).troubles} == {
        "nothing is planned: nobody's hours are recorded here"
    }
    assert "nobody&#x27;s hours are recorded here" in page("week")


def test_beyond_the_weeks_planned_it_says_so(page, car, keeper, hand):  # noqa: F811
    fresh(car)
    want(car, keeper, TODAY + timedelta(days=200))
    assert state(car, keeper).is_ahead
    assert "beyond the twelve weeks that are planned" in page("car", car.pk)


def test_it_ends_by_itself_after_the_day_and_when_withdrawn(page, car, keeper, hand):  # noqa: F811
    fresh(car, inspection=DUE)
    wish = want(car, keeper)
    assert ready_of(access_of(keeper), car, SHOW)
    assert not ready_of(access_of(keeper), car, SHOW + timedelta(days=1))
    end = reverse("ready_end", args=[car.pk, wish.pk])
    assert page.client.post(end).status_code == 302
    assert not ReadyBy.objects.exists()
    assert not Assignment.objects.filter(key__contains="ready").exists()
    assert page.client.post(end).status_code == 404


def test_a_wish_changes_what_the_plan_is_made_from(car, keeper, site, at_ten):  # noqa: F811
    fresh(car)
    before = facts_of(site, TODAY).fingerprint(), stamp_of(site, TODAY)
    want(car, keeper)
    after = facts_of(site, TODAY).fingerprint(), stamp_of(site, TODAY)
    assert before[0] != after[0]
    assert before[1] != after[1]


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (TODAY - timedelta(days=1), "past: choose today"),
        (date(2036, 12, 4), "more than two years"),
        (SHOW, "wanted on that day already"),
    ],
)
def test_a_day_that_cannot_be_is_refused_by_name(car, keeper, at_ten, day, words):  # noqa: F811
    fresh(car)
    want(car, keeper)
    with pytest.raises(ValidationError) as fault:
        want(car, keeper, day)
    assert words in fault.value.message_dict["day"][0]
    assert ReadyBy.objects.count() == 1


def test_a_car_that_has_left_cannot_be_made_ready(car, keeper, at_ten):  # noqa: F811
    car.left_on = TODAY
    with pytest.raises(ValidationError, match="has left storage"):
        want(car, keeper)


def test_an_owner_sees_the_day_of_their_own_car_and_may_not_change_it(client_as, car, keeper, owner, at_ten):  # noqa: F811
    fresh(car)
    wish = want(car, keeper)
    client = client_as(owner)
    shown = client.get(reverse("car", args=[car.pk])).content.decode()
    assert "show" in shown.split('id="ready-by"')[1][:600]
    assert "Withdraw" not in shown
    assert client.post(reverse("ready_end", args=[car.pk, wish.pk])).status_code == 403


def test_a_day_that_the_plan_has_not_taken_in_yet_says_so_and_nothing_false(page, car, keeper, hand):  # noqa: F811
    fresh(car, inspection=DUE, coolant=DUE)
    duty(car, "coolant", **DUE, hold="the engine is drained")
    want(car, keeper)
    ReadyBy.objects.update(asked_at=NOW + timedelta(minutes=1))
    shown = state(car, keeper)
    assert shown.is_new
    assert [each.duty for each in shown.work] == ["coolant"]
    assert "being made anew for it" in page("car", car.pk)
