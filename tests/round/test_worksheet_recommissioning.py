"""Recommissioning on the phone: its page, the rule that warns without a signal, what goes up."""

import json
import re
import uuid
from datetime import UTC, datetime, timedelta
from io import BytesIO

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from PIL import Image

from collection.care import core as choices
from collection.models import Entry, HandbookValue
from collection.recommission.core.plan import build_recommissioning
from collection.recommission.queries import recommissioning_record
from collection.web.units import edge
from scheduler.recommission.stages.results import Grade, Result, grade
from tests.barn import make_car
from tests.logbook import passing

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
DAY = timedelta(days=1)
# as typed, and as the site takes them
CONDITIONS = [({}, {})]
CONDITIONS += [({"temperature_c": degrees}, {"temp_c": degrees}) for degrees in (-15.0, 4.0, 20.0, 45.0)]
CONDITIONS += [({"altitude_m": metres}, {"altitude_m": metres}) for metres in (0.0, 1200.0, 3000.0)]
BY_HAND = {key: check.measure for key, check in choices.checks().items() if choices.is_by_hand(key)}
MEASURED = [key for key in choices.measured_checks() if key in BY_HAND]
ANSWERED = [key for key in BY_HAND if key not in MEASURED]


@pytest.fixture(autouse=True)
def clock(time_machine):
    time_machine.move_to(NOW, tick=False)
    return time_machine


@pytest.fixture
def sleeper(car):
    car.regime, car.stored_since, car.year = "dormant", NOW.date() - 19 * DAY, 1971
    car.save()
    return car


@pytest.fixture
def client(client_as, keeper):
    return client_as(keeper)


@pytest.fixture
def page(client, sleeper):
    def get():
        return client.get(reverse("worksheet_recommission", args=[sleeper.pk]))

    return get


@pytest.fixture
def send(client, keeper, barn):
    """Sends results as the phone does, by a clock that may run ahead; gives back what became of each."""

    def post(*entries, ahead_by=timedelta()):
        sent = {
            "sent_at": (NOW + ahead_by).isoformat(),
            "person": keeper.pk,
            "organisation": barn.pk,
            "entries": entries,
        }
        answer = client.post(reverse("worksheet_entries"), json.dumps(sent), content_type="application/json")
        assert answer.status_code == 200, answer.content
        return answer.json()["outcomes"]

    return post


def result(car, check, *, minutes_ago=20, **fields):
    return {
        "key": str(uuid.uuid4()),
        "car": car.pk,
        "kind": "waking_result",
        "check": check,
        "duty": "",
        "units": "metric",
        "fields": {name: [text] for name, text in fields.items()},
        "done_at": (NOW - timedelta(minutes=minutes_ago)).isoformat(),
        "seen": (NOW - timedelta(hours=1)).isoformat(),
    }


def states(outcomes):
    return [outcome["state"] for outcome in outcomes]


def state_of(page, check):
    stages = page().context["recommissioning"].states
    return next(one.state for stage in stages for one in stage.checks if one.check == check)


def may(car):
    """As every page has it."""
    built = build_recommissioning(recommissioning_record(car), today=NOW.date())
    return [one.given for one in built.permissions.allowed]


# the rule that the phone is given


def warns(check, value, unit="", *, units="metric", **typed):
    """As recommissioning.js decides."""
    rule = choices.stop_rule(check, edge(units))
    own, moved = value * rule["units"][unit or check.judge.unit], 0.0
    own = abs(own) if rule["magnitude"] else own
    if shift := rule["shift"]:
        text = typed.get(shift["field"])
        here = shift["unknown"] if text is None else shift["nought"] + shift["one"] * text
        moved = float(np.interp(here, shift["at"], shift["by"]))
    return not any(
        (low is None or low + moved <= own) and (high is None or own <= high + moved)
        for low, high in rule["ranges"]
    )


def edges(check):
    """Values at, just inside and just outside every limit, wherever a condition moves it, and far away."""
    judge = check.judge
    limits = {judge.pass_low, judge.pass_high, judge.caution_low, judge.caution_high, 0.0}
    moved = {0.0, *(judge.shift.by if judge.shift else ())}
    near = {limit + by + step for limit in limits for by in moved for step in (-0.01, 0, 0.01)}
    return [value for value in near if abs(value) != float("inf")] + [-1e6, 1e6]


@pytest.mark.parametrize("key", MEASURED)
def test_the_phone_warns_of_the_values_that_the_site_would_stop_at(key):
    check = choices.checks()[key]
    for value in edges(check):
        for typed, conditions in CONDITIONS:
            worth = grade(check, Result(key, NOW, value, check.judge.unit, conditions=conditions))
            assert warns(check, value, **typed) == (worth is Grade.STOP), (value, typed)


def test_the_phone_reads_the_unit_that_was_chosen():
    preoil = choices.checks()["preoil"]
    assert not warns(preoil, 30, "psi")
    assert warns(preoil, 3, "psi")
    assert not warns(preoil, 2, "bar")


def test_a_temperature_typed_in_fahrenheit_moves_the_limits_as_it_does_at_the_site():
    load = choices.checks()["battery_load"]
    for fahrenheit, celsius in ((14.0, -10.0), (32.0, 0.0), (70.0, 21.11)):
        for value in (7.9, 8.6, 9.1, 9.4, 9.7):
            worth = grade(load, Result("battery_load", NOW, value, "V", conditions={"temp_c": celsius}))
            assert warns(load, value, units="american", temperature_c=fahrenheit) == (worth is Grade.STOP)


@pytest.mark.parametrize("key", ANSWERED)
def test_the_phone_warns_of_the_answers_that_stop(key):
    check = choices.checks()[key]
    stopping = [
        word for word, _ in choices.answers_of(check) if grade(check, Result(key, NOW, word)) is Grade.STOP
    ]
    assert choices.stop_rule(check, edge("metric")) == {"answers": stopping}


def test_this_cars_handbook_value_alone_warns(page, sleeper):
    HandbookValue.objects.create(vehicle=sleeper, check_key="preoil", low=300, high=500, source="Book, p. 9")
    (rule,) = [json.loads(each.stops) for each in at_steps(page) if each.step.check.key == "preoil"]
    assert rule["ranges"] == [[300, 500]]


def at_steps(page):
    return [each for _, steps in page().context["stages"] for each in steps]


# its page


def test_each_step_stands_with_its_limits_its_caution_and_a_short_form(page):
    told = page().content.decode()
    asked = at_steps(page)
    assert len(asked) > 40
    for each in asked:
        check = each.step.check
        section = re.search(rf'<section [^>]*id="step-{check.key}".*?</section>', told, re.S)[0]
        words = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", section))
        said = words.replace("&#x27;", "'").replace("&quot;", '"').replace("&lt;", "<").replace("&gt;", ">")
        assert check.do in said
        assert check.caution in said
        assert check.qualified in said
        assert ("Log the result" in said) == (check.key != choices.CARE_SET_UP)
        assert ('name="attachments"' in section) == (check.key != choices.CARE_SET_UP)
        assert "keep_place" not in section


def test_what_may_be_done_says_as_of_when_it_was_worked_out(page):
    told = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", page().content.decode()))
    assert "As of Wed 25 Nov 2026, 10:00, when this page was made" in told
    assert "only after the site has it" in told


def test_a_stop_at_a_step_is_said_to_take_away_what_the_site_takes_away(page, send, sleeper):
    for _ in range(2):  # what is answered about its build asks for further steps
        checks = [each.step.check for each in by_hand(page)]
        everything = [result(sleeper, check.key, **passing(check)) for check in checks]
        for start in range(0, len(everything), 40):
            assert set(states(send(*everything[start : start + 40]))) == {"stored"}
    assert may(sleeper) == [True, True, True, False], "the road waits for the end of the recommissioning"
    for each in stopping_by_stage(page):
        check = each.step.check
        bad = result(sleeper, check.key, minutes_ago=10, answer=check.judge.stops[0])
        assert states(send(bad)) == ["stored"]
        taken = [number for number, given in enumerate(may(sleeper)) if not given]
        assert [number for number, _ in each.revokes] == taken, check.key
        assert states(send(result(sleeper, check.key, minutes_ago=5, **passing(check)))) == ["stored"]
        assert may(sleeper) == [True, True, True, False], check.key


def by_hand(page):
    return [each for each in at_steps(page) if each.form]


def stopping_by_stage(page):
    """One step of each stage whose answer may be a stop."""
    steps = {each.step.check.stage: each for each in by_hand(page) if "answers" in each.stops}
    return [each for each in steps.values() if each.step.check.judge.stops]


def test_the_last_step_is_no_result_but_the_end_of_the_waking(page):
    (last,) = [each for each in at_steps(page) if each.form is None]
    assert last.step.check.key == choices.CARE_SET_UP


def test_a_form_serves_without_a_script_too(client, page, sleeper):
    (form,) = re.findall(r'<form [^>]*data-check="hand_turn".*?</form>', page().content.decode(), re.S)
    key = re.search(r'name="key" value="([^"]+)"', form)[1]
    url = re.search(r'action="([^"]+)"', form)[1]
    assert client.post(url, {"key": key, "answer": "smoothly", "note": "by the fan"}).status_code == 302
    assert (Entry.objects.get().details["answer"], Entry.objects.get().note) == ("smoothly", "by the fan")


def test_the_round_lists_the_cars_to_be_woken_and_takes_both_their_pages_along(client, sleeper, bays):
    told = client.get(reverse("worksheet")).content.decode()
    (link,) = re.findall(rf'<a href="{reverse("worksheet_recommission", args=[sleeper.pk])}"[^>]*>', told)
    also = " ".join(reverse(name, args=[sleeper.pk]) for name in ("worksheet_car", "worksheet_faults"))
    assert f'data-also="{also}"' in link
    assert (
        reverse("worksheet_recommission", args=[sleeper.pk])
        in client.get(reverse("worksheet_car", args=[sleeper.pk])).content.decode()
    )


@pytest.mark.parametrize("changed", [{"regime": "exercised"}, {"left_on": NOW.date() - DAY}])
def test_the_round_lists_no_car_that_is_in_care_or_left(client, sleeper, changed):
    for name, value in changed.items():
        setattr(sleeper, name, value)
    sleeper.save()
    assert "To be recommissioned" not in client.get(reverse("worksheet")).content.decode()


def test_the_round_of_another_site_lists_no_dormant_car_of_this_one(client, barn, sleeper, bays):
    away = barn.sites.create(name="Far Barn", climate=barn.sites.first().climate, time_zone="UTC")
    sleeper.bay = bays[0]
    sleeper.save()
    assert not client.get(reverse("worksheet"), {"site": away.pk}).context["dormant"]


def test_a_car_in_care_has_no_steps_and_says_why(page, sleeper):
    sleeper.regime = "exercised"
    sleeper.save()
    told = page().content.decode()
    assert "results are logged only for a car that stood, history unknown" in told
    assert "data-check" not in told


def test_the_page_asks_the_database_as_often_with_many_results_as_with_few(page, send, sleeper):
    def queries():
        with CaptureQueriesContext(connection) as asked:
            assert page().status_code == 200
        return len(asked)

    send(result(sleeper, "photographed", answer="done"))
    few = queries()
    send(*(result(sleeper, "photographed", minutes_ago=i, answer="done") for i in range(1, 30)))
    assert queries() == few


def test_the_round_asks_as_often_for_nine_dormant_cars_as_for_two(client, barn, sleeper):
    def queries():
        client.get(reverse("worksheet"))  # computes what is stale
        with CaptureQueriesContext(connection) as asked:
            assert client.get(reverse("worksheet")).status_code == 200
        return len(asked)

    make_car(barn, sleeper.owner, regime="dormant")
    few = queries()
    for _ in range(7):
        make_car(barn, sleeper.owner, regime="dormant")
    assert queries() == few


# what the phone sends


def test_a_result_made_without_a_signal_is_stored_once_with_its_own_time(send, sleeper, keeper, page):
    sent = result(sleeper, "battery_rest", value="12.6", unit="V", temperature_c="8", instrument="meter 3")
    assert states(send(sent)) == ["stored"]
    assert states(send(sent)) == ["before"]
    entry = Entry.objects.get()
    assert (entry.by, entry.done_at, entry.recorded_at) == (keeper, NOW - timedelta(minutes=20), NOW)
    said = {"check": "battery_rest", "value": 12.6, "unit": "V", "instrument": "meter 3"}
    assert said.items() <= entry.details.items()
    assert state_of(page, "battery_rest") == "pass"


def test_a_stop_from_the_phone_takes_the_permissions_away_and_a_later_pass_gives_them_back(
    send, sleeper, page
):
    assert states(send(result(sleeper, "hand_turn", answer="hard stop"))) == ["stored"]
    assert state_of(page, "hand_turn") == "stop"
    assert states(send(result(sleeper, "hand_turn", minutes_ago=5, answer="smoothly"))) == ["stored"]
    assert state_of(page, "hand_turn") == "pass"


def test_results_that_come_in_the_wrong_order_count_by_when_they_were_made(send, sleeper, page):
    send(result(sleeper, "hand_turn", minutes_ago=5, answer="hard stop"))
    send(result(sleeper, "hand_turn", minutes_ago=50, answer="smoothly"))
    assert state_of(page, "hand_turn") == "stop"


@pytest.mark.parametrize("ahead_by", [DAY, -DAY])
def test_a_phone_whose_clock_is_wrong_can_neither_hide_a_stop_nor_outlast_a_pass(
    send, sleeper, page, clock, ahead_by
):
    bad = result(sleeper, "hand_turn", answer="hard stop")
    bad["done_at"] = (NOW + ahead_by - timedelta(minutes=20)).isoformat()
    good = result(sleeper, "hand_turn", minutes_ago=30, answer="smoothly")
    assert states(send(good)) == ["stored"]
    assert states(send(bad, ahead_by=ahead_by)) == ["stored"]
    assert state_of(page, "hand_turn") == "stop", "it was made ten minutes after the pass"
    assert "2026, 09:40" in page().content.decode(), "told by our clock"
    assert states(send(result(sleeper, "hand_turn", minutes_ago=5, answer="smoothly"))) == ["stored"]
    assert state_of(page, "hand_turn") == "pass", "it was made fifteen minutes after the stop"


def test_a_result_for_a_car_that_came_into_care_meanwhile_is_refused_in_words(send, sleeper):
    sent = result(sleeper, "hand_turn", answer="smoothly")
    before = result(sleeper, "photographed", answer="done")
    assert states(send(before)) == ["stored"]
    sleeper.regime = "exercised"
    sleeper.save()
    refused, replayed = send(sent, before)
    assert (refused["state"], replayed["state"]) == ("refused", "before")
    assert "results are logged only for a car that stood, history unknown" in refused["says"]
    assert Entry.objects.count() == 1


@pytest.mark.parametrize("check", ["no_such_step", choices.CARE_SET_UP, 7])
def test_a_step_that_no_hand_logs_is_refused(send, sleeper, check):
    (outcome,) = send(result(sleeper, check, answer="done"))
    assert outcome["state"] == "refused"
    assert "There is no such step to log" in outcome["says"]
    assert not Entry.objects.exists()


def test_a_result_that_names_no_step_is_refused(send, sleeper):
    (outcome,) = send(result(sleeper, "", answer="done"))
    assert outcome["state"] == "refused"
    assert "which step" in outcome["says"]


@pytest.mark.parametrize(
    "fields",
    [
        {},
        {"value": "12.6", "unit": "V", "could_not": "no meter"},
        {"value": "12.6", "unit": "psi"},
        {"value": "a lot", "unit": "V"},
        {"answer": "done"},
    ],
)
def test_a_result_that_says_nothing_or_nonsense_is_refused_and_the_others_go_up(send, sleeper, fields):
    bad, good = send(
        result(sleeper, "battery_rest", **fields), result(sleeper, "hand_turn", answer="smoothly")
    )
    assert (bad["state"], good["state"]) == ("refused", "stored")
    assert bad["says"]


def test_a_psi_page_sends_psi(send, sleeper, page):
    sent = result(sleeper, "preoil", value="30", unit="psi") | {"units": "british"}
    assert states(send(sent)) == ["stored"]
    assert state_of(page, "preoil") == "pass"


def test_what_could_not_be_done_is_no_pass(send, sleeper, page):
    send(result(sleeper, "hand_turn", could_not="the fan is out of reach"))
    assert state_of(page, "hand_turn") == "could not be done"


def test_a_foreign_car_is_not_there(client, send, foreign_car):
    assert client.get(reverse("worksheet_recommission", args=[foreign_car.pk])).status_code == 404
    assert states(send(result(foreign_car, "hand_turn", answer="smoothly"))) == ["refused"]


# --- the search for a fault, and photographs -----------------------------------------------------


def fault_test(car, subject="overheats/pan", **fields):
    return result(car, subject, **fields) | {"kind": "fault_test"}


@pytest.fixture
def send_pictured(client, keeper, barn, picture):
    """One entry with files, as the phone sends it."""

    def post(entry, *files):
        sent = {"sent_at": NOW.isoformat(), "person": keeper.pk, "organisation": barn.pk, "entries": [entry]}
        parts = [SimpleUploadedFile(name, data, "image/jpeg") for name, data in files or [("a.jpg", picture)]]
        answer = client.post(
            reverse("worksheet_entries"), {"sent": json.dumps(sent), f"{entry['key']}/attachments": parts}
        )
        assert answer.status_code == 200, answer.content
        return answer.json()["outcomes"][0]

    return post


@pytest.fixture
def picture():
    made = BytesIO()
    Image.new("RGB", (64, 48), "brown").save(made, "JPEG")
    return made.getvalue()


def test_a_test_of_a_search_goes_up_once_and_the_site_goes_on_from_it(client, send, sleeper):
    sent = fault_test(sleeper, outcome="shut")
    assert [send(sent)[0]["state"] for _ in range(2)] == ["stored", "before"]
    entry = Entry.objects.get()
    assert entry.details == {"symptom": "overheats", "test": "pan", "outcome": "shut"}
    page = client.get(reverse("recommission_fault", args=[sleeper.pk, "overheats"])).content.decode()
    assert "Most likely: thermostat" in re.sub(r"\s+", " ", page)


@pytest.mark.parametrize(
    ("subject", "fields"),
    [
        ("overheats/tea", {"outcome": "shut"}),
        ("tea/pan", {"outcome": "shut"}),
        ("pan", {"outcome": "shut"}),
        ("", {"outcome": "shut"}),
        ("overheats/pan", {"outcome": "purple"}),
        ("overheats/pan", {}),
        ("overheats/pan", {"outcome": "shut", "could_not": "no pan"}),
        ("battery_rest", {"outcome": "shut"}),
    ],
)
def test_a_test_that_nobody_asks_for_or_that_says_nothing_is_refused(send, sleeper, subject, fields):
    told, good = send(fault_test(sleeper, subject, **fields), fault_test(sleeper, outcome="opens"))
    assert (told["state"], good["state"]) == ("refused", "stored")
    assert told["says"]


def test_the_page_carries_every_search_of_the_machine_and_what_was_tried(client, send, sleeper):
    send(fault_test(sleeper, outcome="shut"))
    sleeper.system_volts = 6
    sleeper.save()
    page = client.get(reverse("worksheet_faults", args=[sleeper.pk])).content.decode()
    store = re.search(r'<script id="on-phone" type="application/json">(.*?)</script>', page, re.S)[1]
    data = json.loads(store)
    assert data["tried"]["overheats"] == [["pan", "shut"]]
    assert {tree["symptom"] for tree in data["trees"]} >= {"overheats", "cranks-not", "dragging-brake"}
    assert "6.2, 12.4" not in store, "values are those of this car's volts"
    assert data["held"]["look"] == []
    assert data["held"]["run"], "nothing was passed yet"


def test_photographs_of_a_step_and_of_a_test_go_up_once(send_pictured, sleeper, picture):
    step = result(sleeper, "photographed", answer=choices.checks()["photographed"].judge.passes[0])
    test = fault_test(sleeper, outcome="shut")
    for entry in (step, test):
        states = [send_pictured(entry, ("a.jpg", picture), ("b.jpg", picture))["state"] for _ in range(2)]
        assert states == ["stored", "before"]
    assert [entry.attachments.count() for entry in Entry.objects.all()] == [2, 2]


def test_a_file_that_is_no_photograph_is_refused_with_its_reason_and_nothing_is_stored(
    send_pictured, sleeper
):
    told = send_pictured(fault_test(sleeper, outcome="shut"), ("tea.jpg", b"tea"))
    assert told["state"] == "refused"
    assert "tea" in told["says"]
    assert not Entry.objects.exists()


def test_work_that_takes_no_photograph_says_so_instead_of_losing_it(send_pictured, sleeper):
    not_done = {"key": str(uuid.uuid4()), "car": sleeper.pk, "kind": "not_done", "duty": "charge"}
    told = send_pictured(not_done | {"units": "metric", "fields": {"reason": ["Locked, no key"]}})
    assert told["state"] == "refused"
    assert "photographs" in told["says"]
    assert not Entry.objects.exists()


def test_a_form_without_its_entries_is_no_queue(client):
    assert client.post(reverse("worksheet_entries"), {"tea": "hot"}).status_code == 400
