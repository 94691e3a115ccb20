"""The storage history: where it stood, what was done, what was missed, its state now."""

import re
from datetime import date

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from collection.due.queries.intervals import answered
from collection.history.core.past import past_of
from collection.history.queries.history import Gap, silences, whole_log
from collection.models import Building
from tests.logbook import NOON, ago, as_shown, spoil, write

WARM_RUN = {"minutes": 45, "reached_temperature": True, "driven": True, "distance_km": 30}


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


def page(client, car):
    response = client.get(f"/cars/{car.pk}/history/")
    assert response.status_code == 200
    return response


def body(response):
    return response.content.decode()


def missed(response):
    return [(gap.since, gap.until, gap.what) for gap in response.context["story"].missed]


def move(car, by, days_ago, start, end):
    details = {
        "wheels_only": False,
        "from_bay": start.pk,
        "from_bay_label": str(start),
        "to_bay": end.pk,
        "to_bay_label": str(end),
    }
    write(car, by, "moved", days_ago, details=details)


def test_stays_follow_from_the_moves_with_the_air_of_each_place(client_as, keeper, car, bays):
    yard = Building.objects.create(
        site=bays[0].building.site, name="Heated hall", shelter="heated", heated_to_c=15
    )
    bay = yard.bays.create(row="H", place=1)
    move(car, keeper, 100, bays[0], bays[1])
    move(car, keeper, 30, bays[1], bay)
    car.bay = bay
    car.save()
    stays = page(client_as(keeper), car).context["story"].stays
    assert [(stay.since, stay.until, stay.place) for stay in stays] == [
        (date(2026, 3, 1), ago(100), "Long shed A1"),
        (ago(100), ago(30), "Long shed A2"),
        (ago(30), None, "Heated hall H1"),
    ]
    colder, warmer = (int(re.search(r"coldest quarter about (−?\d+) °C", stay.air)[1]) for stay in stays[1:])
    assert colder < 10 < warmer


def test_wheels_turned_on_the_spot_are_no_stay(client_as, keeper, car, bays):
    label = str(bays[0])
    details = {"wheels_only": True, "from_bay": bays[0].pk, "from_bay_label": label, "to_bay_label": label}
    write(car, keeper, "moved", 20, details=details)
    assert len(page(client_as(keeper), car).context["story"].stays) == 1


def test_a_bay_changed_by_hand_is_the_last_stay_without_a_day(client_as, keeper, car, bays):
    move(car, keeper, 100, bays[0], bays[1])
    car.bay = bays[2]
    car.save()
    stays = page(client_as(keeper), car).context["story"].stays
    assert [stay.place for stay in stays] == ["Long shed A1", "Long shed A2", "Long shed A3"]
    assert (stays[-1].since, stays[1].until) == (None, None)


def test_doings_stand_in_order_with_readings_and_author(client_as, keeper, car):
    write(
        car,
        keeper,
        "charge",
        9,
        details={"completed": True},
        readings=[{"quantity": "rested_volts", "value": 12.61}],
    )
    write(car, keeper, "run_up", 40, details=WARM_RUN)
    response = page(client_as(keeper), car)
    assert [doing.kind for doing in response.context["story"].doings] == ["run_up", "charge"]
    assert "12.61 V" in body(response)
    assert "Keeper" in body(response)


@pytest.mark.parametrize(("delay", "late"), [(1, False), (3, True)])
def test_what_was_written_down_days_later_is_marked(client_as, keeper, car, delay, late):
    write(car, keeper, "note", 9, recorded_after_days=delay, note="Cover on.")
    assert ("written down Thu" in body(page(client_as(keeper), car))) is late


def test_a_correction_stands_beside_what_it_corrects(client_as, keeper, manager, car):
    wrong = write(car, keeper, "note", 9, note="Left tyre low.")
    write(car, manager, "note", 9, note="Right tyre low.", corrects=wrong)
    html = body(page(client_as(keeper), car))
    assert re.search(r"<del>.*Left tyre low\..*?</del>", html, re.S)
    assert "corrected Mon 16 Nov 2026 by Manager" in html
    assert "Right tyre low." in html


def test_a_withdrawn_entry_stays_visible_but_counts_for_nothing(client_as, keeper, car):
    car.stored_since = ago(60)
    car.save()
    wrong = write(car, keeper, "inspected", 30, details={"ok": True})
    write(car, keeper, "withdrawn", 29, corrects=wrong)
    response = page(client_as(keeper), car)
    assert "withdrawn" in body(response)
    assert (ago(60), ago(0), "no entry of any kind for 60 days") in missed(response)


def test_what_was_not_done_is_told_with_its_reason(client_as, keeper, car):
    write(car, keeper, "not_done", 12, details={"duty": "run_up", "reason": "blocked in"})
    assert (ago(12), ago(12), "Run-up not done: blocked in") in missed(page(client_as(keeper), car))


def test_a_silence_longer_than_a_walk_round_is_a_gap(client_as, keeper, car):
    car.stored_since = ago(100)
    car.save()
    for days in (95, 70, 10):
        write(car, keeper, "inspected", days, details={"ok": True})
    gaps = [gap for gap in missed(page(client_as(keeper), car)) if "no entry" in gap[2]]
    assert gaps == [(ago(70), ago(10), "no entry of any kind for 60 days")]


def test_a_car_seen_in_time_has_no_silence():
    days, span = [ago(40), ago(20)], {"since": ago(60), "until": ago(0)}
    assert silences(days, **span, unseen=lambda days: [30] * len(days)) == []
    late = silences(days, **span, unseen=lambda days: [19] * len(days))
    assert late[0] == Gap(ago(60), ago(40), "no entry of any kind for 20 days")
    assert len(late) == 3


FULL = {"completed": True}


def test_care_after_the_end_of_its_window_is_a_gap(client_as, keeper, car):
    """A charge left for eight months and one in time: only the first was missed."""
    car.stored_since = ago(400)
    car.save()
    for days in (390, 140, 110):
        write(car, keeper, "charge", days, details=FULL)
    late = [gap for gap in missed(page(client_as(keeper), car)) if "charge came" in gap[2]]
    assert len(late) == 1
    since, until, what = late[0]
    assert ago(390) < since < until == ago(140)
    assert what == f"Maintainer charge came {(until - since).days} days after the last day of its window"


def test_what_was_not_known_on_the_eve_does_not_excuse_a_late_care(client_as, keeper, car):
    """A charge recorded after the eve plays no part in the window that the eve saw."""
    car.stored_since = ago(400)
    car.save()
    write(car, keeper, "charge", 390, details=FULL)
    page(client_as(keeper), car)
    before = past_of(car, whole_log(car), first=ago(390), last=ago(141))
    write(car, keeper, "charge", 140, details=FULL)
    assert past_of(car, whole_log(car), first=ago(390), last=ago(141)) == before


def test_a_charge_that_did_not_finish_is_not_the_care_that_was_due(client_as, keeper, car):
    car.stored_since = ago(400)
    car.save()
    write(car, keeper, "charge", 390, details=FULL)
    write(car, keeper, "charge", 140, details={"completed": False})
    gaps = missed(page(client_as(keeper), car))
    assert not [gap for gap in gaps if "charge came" in gap[2]]
    assert any(what == "Maintainer charge is late" and until is None for _, until, what in gaps)


@pytest.mark.parametrize(
    ("kind", "details", "duty"),
    [
        ("run_up", WARM_RUN, "run_up"),
        ("run_up", WARM_RUN | {"driven": False}, ""),
        ("run_up", WARM_RUN | {"reached_temperature": False}, ""),
        ("fluid_changed", {"fluid": "coolant"}, "coolant"),
        ("maintainer", {"state": "on"}, "charge"),
        ("maintainer", {"state": "off"}, ""),
        ("note", {}, ""),
    ],
)
def test_only_care_in_full_answers_its_duty(keeper, car, kind, details, duty):
    assert answered(write(car, keeper, kind, 3, details=details)) == duty


def test_a_duty_that_was_held_was_not_missed(client_as, keeper, car):
    """Nobody may blame a keeper for not running a preserved engine."""
    car.regime, car.stored_since = "preserved", ago(400)
    car.save()
    write(car, keeper, "run_up", 390, details=WARM_RUN)
    write(car, keeper, "run_up", 10, details=WARM_RUN)
    assert not [gap for gap in missed(page(client_as(keeper), car)) if "Run-up" in gap[2]]


def test_its_state_is_told_by_system_with_what_is_assumed(client_as, keeper, car):
    response = page(client_as(keeper), car)
    titles = [system.title for system in response.context["story"].systems if system.duties]
    assert titles == [
        "Battery",
        "Engine",
        "Fuel",
        "Cooling",
        "Brakes",
        "Clutch, gearbox and axle",
        "Tyres",
        "The whole car",
    ]
    assert "Assumed:" in body(response)


def test_open_tags_stand_at_the_top(client_as, keeper, car):
    write(car, keeper, "tag_opened", 5, details={"tag": "drained", "where": "coolant out"})
    html = body(page(client_as(keeper), car))
    assert html.index("coolant out") < html.index("Where it stood")


def test_it_gives_no_mark_and_offers_no_change(client_as, keeper, car):
    write(car, keeper, "note", 3)
    response = page(client_as(keeper), car)
    main = body(response).split("<main", 1)[1]
    assert not re.search(r"\bscore\b|\brating\b|<form|/log/|/edit/", main)
    assert client_as(keeper).post(f"/cars/{car.pk}/history/").status_code == 405


def test_an_owner_may_show_their_own_cars_history_only(client_as, owner, car, neighbour_car):
    page(client_as(owner), car)
    assert client_as(owner).get(f"/cars/{neighbour_car.pk}/history/").status_code == 404


def test_a_car_without_any_log_has_a_history_too(client_as, keeper, neighbour_car):
    html = body(page(client_as(keeper), neighbour_car))
    assert "The care log has no entry yet" in html


def test_a_record_that_cannot_be_read_still_tells_what_was_done(client_as, keeper, car):
    write(car, keeper, "note", 3, note="Cover replaced.")
    spoil(car)
    html = body(page(client_as(keeper), car))
    assert "does not allow the dates to be worked out" in html
    assert "Cover replaced." in html


def test_a_car_that_left_has_no_state_now(client_as, keeper, car):
    car.left_on = ago(10)
    car.save()
    response = page(client_as(keeper), car)
    assert response.context["story"].systems == []
    assert "until Sun 15 Nov 2026" in as_shown(body(response))


def test_the_number_of_queries_does_not_grow_with_the_log(client_as, keeper, car):
    client = client_as(keeper)
    car.stored_since = ago(800)
    car.save()
    for days in (700, 600):
        write(car, keeper, "charge", days, details=FULL)
    page(client, car)
    with CaptureQueriesContext(connection) as few:
        page(client, car)
    for days in range(20, 580, 40):
        write(car, keeper, "charge", days, details=FULL)
        write(car, keeper, "run_up", days, details=WARM_RUN)
    page(client, car)
    with CaptureQueriesContext(connection) as many:
        response = page(client, car)
    assert len(response.context["story"].doings) == 30
    assert len(many) == len(few)
