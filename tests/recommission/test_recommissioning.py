"""Recommissioning a car that stood too long, told through its pages."""

import html
import re
import uuid
from datetime import date
from io import BytesIO

import pypdf
import pytest
from django.db import DatabaseError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from collection.care import core as choices
from collection.care.actions.care import log_entry
from collection.chain.verify import verify
from collection.models import CareKind, Entry, Evidence, HandbookValue, Reading
from tests.barn import TODAY
from tests.logbook import as_shown, passing

CAME = date(2026, 11, 6)


@pytest.fixture(autouse=True)
def _today(time_machine):
    time_machine.move_to("2026-11-25T10:00:00Z")


@pytest.fixture
def sleeper(car):
    car.regime, car.stored_since, car.year = "dormant", CAME, 1971
    car.save()
    return car


class AtTheCar:
    """A keeper at the car: each act goes through an address."""

    def __init__(self, client, car):
        self.client, self.car = client, car

    def get(self, name, *further, **query):
        return self.client.get(reverse(name, args=[self.car.pk, *further]), query)

    def post(self, name, *further, **fields):
        sent = {"key": str(uuid.uuid4())} | fields
        return self.client.post(reverse(name, args=[self.car.pk, *further]), sent)

    def find(self, kind, **fields):
        answer = self.post("evidence_new", kind, **fields)
        assert answer.status_code == 302, faults_of(answer)

    def step(self, check, **fields):
        answer = self.post("recommission_step", check, **fields)
        assert answer.status_code == 302, faults_of(answer)

    @property
    def recommissioning(self):
        return self.get("recommissioning").context["recommissioning"]

    def line(self, event):
        lines = self.get("recommissioning").context["lines"]
        return next(line for line in lines if line.event == event)

    def may(self):
        return [one.given for one in self.recommissioning.permissions.allowed]

    def pass_everything(self, *, but=()):
        self.answer_questions()
        for check in self.recommissioning.plan.checks:
            if check.key not in (*but, choices.CARE_SET_UP):
                self.step(check.key, **passing(check))

    def answer_questions(self):
        for check in self.recommissioning.plan.checks:
            if check.key.startswith("is_"):
                self.step(check.key, **passing(check))


def faults_of(answer):
    return re.findall(r'class="fault">(.*?)<', answer.content.decode())


@pytest.fixture
def at_car(client_as, keeper, sleeper):
    return AtTheCar(client_as(keeper), sleeper)


@pytest.fixture
def at_desk(client_as, manager, sleeper):
    return AtTheCar(client_as(manager), sleeper)


# how long it stood


def test_hard_evidence_alone_and_with_soft_stand_side_by_side(at_car):
    at_car.find("inspection_pass", on="2015-06-06", answers=["driven_there"])
    at_car.find("cover_ends", on="2016-06-30")
    line = at_car.line("Road use")
    assert line.soft == "6 Jun 2015 to 30 Jun 2016"
    assert line.hard == "before 6 Nov 2026, from when is open"
    assert line.stood == "10.4 years to 11.5 years"
    assert at_car.line("Attended").hard == "6 Jun 2015 to 6 Nov 2026"


def lanes(at):
    return {lane.event: lane for lane in at.get("recommissioning").context["drawing"].lanes}


def test_the_drawing_carries_every_find_with_its_side_and_strength(at_car):
    at_car.find("paper_under_tyre", on="2015-10-06")
    at_car.find("cover_ends", on="2016-06-30")
    drawn = lanes(at_car)
    assert any(mark.after and mark.hard and "6 Oct 2015" in mark.text for mark in drawn["Movement"].marks)
    (end,) = [mark for mark in drawn["Road use"].marks if "30 Jun 2016" in mark.text]
    assert not end.after
    assert not end.hard
    left, width = drawn["Road use"].soft
    assert left + width == pytest.approx(end.x, abs=0.2)  # the band ends where the evidence ends it
    assert sum(drawn["Road use"].hard) > end.x  # hard evidence alone allows more


def test_contradicting_evidence_is_named_and_nothing_is_averaged(at_car):
    at_car.find("odometer_now", odometer_km="98000", answers=["instrument_works"])
    at_car.find("odometer_reading", odometer_km="98000", on="2014-05-01")
    at_car.find("receipt", on="2018-08-01", note="fuel, in the door pocket")
    page = at_car.get("recommissioning")
    ((first, second, _),) = page.context["clashes"]
    assert "in the door pocket" in first
    assert "Odometer" in second
    assert "contradicts itself" in at_car.line("Road use").stood
    assert "cannot both be right" in page.content.decode()


def test_an_ambiguous_tyre_code_is_carried_as_alternatives(at_car):
    at_car.car.year = 1965
    at_car.car.save()
    at_car.find("tyre_code", code="239")
    texts = [mark.text for mark in lanes(at_car)["Attended"].marks if "week 23" in mark.text]
    assert [re.search(r"week 23 of (\d{4})", text)[1] for text in texts] == ["1979", "1989", "1999"]
    readings = at_car.line("Attended").readings
    assert [re.search(r"week 23 of (\d{4})", words)[1] for words in readings if "week" in words] == [
        "1979",
        "1989",
        "1999",
    ]


def test_it_says_what_further_evidence_would_narrow_it_most_and_stops_offering_what_is_given(at_car):
    worth = at_car.line("Road use").worth
    assert len(worth) == 5
    assert [one.days for one in worth] == sorted((one.days for one in worth), reverse=True)
    simple = next(
        one.kind
        for one in worth
        if choices.evidence_fields(choices.evidence_kinds()[one.kind]) == {"on", "until"}
    )
    at_car.find(simple, on="2016-01-01")
    assert simple not in [one.kind for one in at_car.line("Road use").worth]


@pytest.mark.parametrize(
    ("kind", "fields", "words"),
    [
        ("tyre_code", {"code": "9912"}, "week"),
        ("tyre_code", {"code": "abc"}, "three or four digits"),
        ("battery_made", {"code": "Z7"}, "letter A to M"),
        ("receipt", {"on": "2027-01-01"}, "has not come yet"),
        ("receipt", {"on": "2020-05-01", "until": "2020-04-01"}, "ends before it begins"),
        ("tree_rings", {"on": "2026-11-20", "count": "0"}, "how many rings"),
        ("odometer_now", {"odometer_km": "-5"}, "out of range"),
        ("receipt", {}, "required"),
        ("tree_rings", {"on": "0001-01-01", "count": "500"}, "Give a year from 1885"),
        ("licence_disc", {"on": "9999-12-05"}, "Give a year from 1885 to 2036"),
        ("service_sticker_due", {"on": "0001-02-01"}, "Give a year from 1885"),
    ],
)
def test_evidence_that_cannot_be_is_refused_at_its_field_and_nothing_is_kept(at_car, kind, fields, words):
    answer = at_car.post("evidence_new", kind, **fields)
    assert answer.status_code == 200
    assert any(words in fault for fault in faults_of(answer)), faults_of(answer)
    assert not Evidence.objects.exists()


def test_every_kind_of_evidence_has_a_form_with_its_trap(at_car):
    for kind in choices.evidence_kinds().values():
        page = at_car.get("evidence_new", kind.name)
        assert page.status_code == 200
        assert page.context["kind"].trap


def test_evidence_sent_twice_stands_once(at_car):
    key = str(uuid.uuid4())
    for _ in range(2):
        at_car.find("receipt", on="2019-03-04", key=key)
    assert Evidence.objects.count() == 1


def test_a_wrong_find_is_replaced_or_taken_back_and_kept(at_car):
    at_car.find("receipt", on="2019-03-04")
    old = Evidence.objects.get()
    assert at_car.post("evidence_correct", old.pk, on="2016-03-04").status_code == 302
    assert at_car.line("Road use").soft.startswith("4 Mar 2016")
    new = Evidence.objects.get(corrects=old)
    assert at_car.post("evidence_correct", new.pk, withdraw="yes", reason="another car's").status_code == 302
    assert at_car.line("Road use").soft.startswith("1 Jan 1971")
    assert Evidence.objects.count() == 3
    assert at_car.get("evidence_correct", old.pk).status_code == 404


@pytest.mark.parametrize("statement", ["DELETE FROM", "UPDATE"])
def test_the_database_itself_refuses_to_change_a_find(at_car, statement):
    at_car.find("receipt", on="2019-03-04")
    sql = f"{statement} collection_evidence" + (" SET note = 'x'" if statement == "UPDATE" else "")
    with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql)
    assert Evidence.objects.count() == 1


def test_an_odometer_is_typed_in_the_persons_unit_and_kept_in_kilometres(at_car, keeper):
    keeper.units = "british"
    keeper.save()
    at_car.find("odometer_now", odometer_km="61000")
    assert Evidence.objects.get().odometer_km == pytest.approx(61000 * 1.609344)
    assert "61000 miles" in at_car.get("recommissioning").content.decode()


def test_last_times_of_the_record_count_as_evidence(at_car):
    at_car.car.last_uses.create(event="road_use", on=date(2015, 8, 1), basis="owner")
    assert at_car.line("Road use").soft == "1 Aug 2015"


# what has failed


def test_standing_time_makes_trouble_likely_and_what_is_seen_overrules_it(at_car):
    at_car.find("inspection_pass", on="2015-06-06", answers=["driven_there"])
    at_car.find("cover_ends", on="2016-06-30")
    answers = {one.system: one for one in at_car.get("recommission_outlook").context["answers"]}
    assert answers["valves"].words in ("likely", "almost certain")
    assert at_car.post("recommission_look", "valves", seen="good", text="each moves").status_code == 302
    answers = {one.system: one for one in at_car.get("recommission_outlook").context["answers"]}
    assert answers["valves"].words == "rare"
    assert "found at the car: each moves" in answers["valves"].reasons


def test_what_a_step_proves_overrules_standing_time_and_an_older_look(at_car):
    at_car.find("inspection_pass", on="2005-06-06", answers=["driven_there"])

    def battery():
        return next(one for one in at_car.recommissioning.outlook if one.system == "battery")

    assert battery().words == "almost certain"
    at_car.step("battery_load", could_not="no load tester")
    assert battery().words == "almost certain", "nothing is known yet"
    at_car.step("battery_load", value="9.9", unit="V")
    assert battery().words == "rare"
    assert "found at the car: volts at 15 s: 9.9 V (pass)" in battery().reasons
    assert at_car.post("recommission_look", "battery", seen="faulty", text="case split").status_code == 302
    assert battery().words == "almost certain", "the look is later"
    at_car.step("battery_load", value="9.8", unit="V")
    assert battery().words == "rare", "another battery, and the load is later"
    at_car.step("battery_load", value="7.1", unit="V")
    assert "(stop)" in battery().reasons[0]


def test_how_it_was_put_away_changes_the_outlook(at_car):
    at_car.find("cover_starts", on="2025-06-06")
    at_car.find("receipt", on="2025-06-06")

    def likely():
        return {one.system: one.likely for one in at_car.recommissioning.outlook}

    before = likely()
    answer = at_car.post("recommission_case", damp="dry", conditions=["fuel drained"], known_preparation="on")
    assert answer.status_code == 302
    after = likely()
    assert after["petrol"] < before["petrol"]
    assert after["points"] < before["points"]


# the plan and its gates


def test_a_result_is_logged_with_value_unit_instrument_and_conditions(at_car, keeper):
    at_car.step("battery_load", value="9.9", unit="V", instrument="load tester", temperature_c="4")
    entry = Entry.objects.get(kind=CareKind.WAKING_RESULT)
    assert entry.by == keeper
    assert entry.details == {
        "check": "battery_load",
        "value": 9.9,
        "unit": "V",
        "instrument": "load tester",
        "temperature_c": 4.0,
    }


@pytest.mark.parametrize(
    ("check", "fields"),
    [
        ("hand_turn", {}),
        ("hand_turn", {"answer": "smoothly", "could_not": "no spanner"}),
        ("hand_turn", {"answer": "with a bang"}),
        ("battery_rest", {"unit": "V"}),
        ("battery_rest", {"value": "12.6", "unit": "psi"}),
        ("battery_rest", {"value": "nan", "unit": "V"}),
    ],
)
def test_a_result_that_says_nothing_or_two_things_is_refused(at_car, check, fields):
    answer = at_car.post("recommission_step", check, **fields)
    assert answer.status_code == 200
    assert faults_of(answer)
    assert not Entry.objects.exists()


def test_a_pressure_is_typed_in_psi_and_judged_in_kpa(at_car, keeper):
    keeper.units = "british"
    keeper.save()
    assert at_car.get("recommission_step", "preoil").context["form"].initial["unit"] == "psi"
    at_car.step("preoil", value="30", unit="psi")
    assert state_of(at_car, "preoil") == "pass"
    at_car.step("preoil", value="3", unit="psi")
    assert state_of(at_car, "preoil") == "stop"


def state_of(at_car, check):
    return next(
        one.state for stage in at_car.recommissioning.states for one in stage.checks if one.check == check
    )


def test_a_step_done_again_within_the_same_minute_takes_the_place_of_the_first(at_car):
    at_car.step("hand_turn", answer="hard stop")
    page = at_car.get("recommission_step", "hand_turn").content.decode()
    (when,) = re.findall(r'<input type="datetime-local"[^>]*>', page)
    assert "value=" not in when, (
        "a time to the minute would make both results one moment, and the worse counts"
    )
    at_car.step("hand_turn", answer="smoothly", done_at="")
    assert state_of(at_car, "hand_turn") == "pass"


def test_permissions_come_with_the_gates_and_a_stop_takes_the_later_ones_away(at_car):
    assert at_car.may() == [False] * 4
    at_car.pass_everything(but=("papers",))
    assert at_car.may() == [True, True, True, False]
    at_car.step("hand_turn", answer="hard stop")
    assert at_car.may() == [False] * 4
    plan = at_car.get("recommission_plan")
    assert "Stop here." in plan.content.decode()
    assert plan.context["next_step"].check.key == "hand_turn"
    at_car.step("hand_turn", answer="smoothly")
    assert at_car.may() == [True, True, True, False]


def test_brakes_that_sink_leave_it_running_but_unmoved(at_car):
    at_car.pass_everything()
    at_car.step("pedal_hold", answer="sinks")
    assert at_car.may() == [True, True, False, False]


def test_the_cars_page_shows_what_may_be_done_and_why_not(at_car):
    page = re.sub(r"\s+", " ", at_car.get("car").content.decode())
    assert "What may be done with it now" in page
    assert "May crank: no" in page
    assert "R3 Engine free: not done" in page


def test_this_cars_handbook_value_alone_decides(at_car):
    at_car.step("fuel_pressure", value="30", unit="kPa")
    assert state_of(at_car, "fuel_pressure") == "caution"
    fields = {"fuel_pressure-low": "17", "fuel_pressure-high": "24", "fuel_pressure-source": "book, page 41"}
    client, url = at_car.client, reverse("recommission_handbook", args=[at_car.car.pk])
    in_bar = fields | {"fuel_pressure-low": "0.17", "fuel_pressure-high": "0.24"}
    assert client.post(url, in_bar).status_code == 302
    value = HandbookValue.objects.get()
    assert (value.low, value.high) == (pytest.approx(17), pytest.approx(24))
    assert state_of(at_car, "fuel_pressure") == "stop"
    assert "book, page 41" in at_car.get("recommission_plan", **{"as": "whole"}).content.decode()
    assert client.post(url, {"save": "yes"}).status_code == 302
    assert not HandbookValue.objects.exists()


@pytest.mark.parametrize(
    "fields",
    [{"low": "0.17"}, {"low": "0.3", "high": "0.2", "source": "x"}, {"low": "a", "high": "1", "source": "x"}],
)
def test_half_a_handbook_value_is_refused(at_car, fields):
    sent = {f"fuel_pressure-{name}": word for name, word in fields.items()}
    answer = at_car.client.post(reverse("recommission_handbook", args=[at_car.car.pk]), sent)
    assert answer.status_code == 200
    assert faults_of(answer)
    assert not HandbookValue.objects.exists()


def test_a_line_blown_clear_stays_open_and_keeps_the_car_off_the_road(at_car):
    at_car.pass_everything(but=("line_flow", "tank_opened"))
    at_car.step("line_flow", answer="flows after clearing")
    (task,) = at_car.recommissioning.open_tasks
    assert task.settled_by == "tank_opened"
    assert not at_car.may()[3]
    at_car.step("tank_opened", answer="clean")
    assert at_car.recommissioning.open_tasks == ()
    assert at_car.post("recommission_end", regime="exercised").status_code == 302


def test_could_not_be_done_is_no_pass(at_car):
    at_car.step("compression", could_not="tester lent out")
    assert state_of(at_car, "compression") == "could not be done"


def test_a_wrong_result_is_corrected_on_the_logs_own_page(at_car):
    at_car.step("battery_load", value="7", unit="V", temperature_c="4")
    entry = Entry.objects.get()
    page = at_car.get("correct", entry.pk)
    assert 'value="7' in page.content.decode()
    sent = {"value": "9.7", "unit": "V", "temperature_c": "4"}
    assert at_car.post("correct", entry.pk, **sent).status_code == 302
    assert state_of(at_car, "battery_load") == "pass"
    assert Entry.objects.get(corrects=entry).details["check"] == "battery_load"


def test_only_a_dormant_cars_steps_are_logged(at_car):
    at_car.car.last_uses.create(event="attended", on=CAME, basis="owner")
    at_car.car.regime = "exercised"
    at_car.car.save()
    assert at_car.post("recommission_step", "hand_turn", answer="smoothly").status_code == 200
    assert not Entry.objects.exists()
    assert at_car.may() == [True] * 4


def test_a_preserved_car_may_not_be_cranked_tag_or_no_tag(at_car):
    at_car.car.regime = "preserved"
    at_car.car.save()
    assert at_car.may() == [False] * 4


@pytest.mark.parametrize(
    ("tag", "system", "may"),
    [
        ("part_out", "fuel", [True, False, False, False]),
        ("part_out", "brakes", [True, True, False, False]),
        ("part_out", "cooling", [True, False, False, False]),
        ("part_out", "body", [True, True, True, False]),
        ("part_out", "", [False, False, False, False]),
        ("drained", "drive", [True, True, False, False]),
        ("drained", "", [False, False, False, False]),
        ("danger", "", [False, False, False, False]),
    ],
)
def test_a_tag_takes_away_what_its_part_of_the_car_is_needed_for(at_car, tag, system, may):
    at_car.car.last_uses.create(event="attended", on=CAME, basis="owner")
    at_car.car.regime = "exercised"
    at_car.car.save()
    assert (
        at_car.post("log_kind", "tag_opened", tag=tag, system=system, where="on the bench").status_code == 302
    )
    assert at_car.may() == may
    hung = Entry.objects.get()
    assert at_car.post("log_kind", "tag_closed", opened=str(hung.pk)).status_code == 302
    assert at_car.may() == [True] * 4


def test_a_hazard_takes_a_permission_away_until_it_is_gone_and_only_changes_are_logged(at_car):
    at_car.car.regime = "exercised"
    at_car.car.save()
    at_car.post("recommission_hazards", present=["soft pedal", "lamps"])
    assert at_car.may() == [True, True, False, False]
    at_car.post("recommission_hazards", present=["lamps"])
    assert at_car.may() == [True, True, True, False]
    assert Entry.objects.filter(kind=CareKind.HAZARD).count() == 3


# finding a fault


def test_tests_in_any_order_leave_the_same_causes_and_name_what_speaks_against_the_others(at_car):
    orders = (("points_ohm", "low"), ("coil_feed", "volts")), (("coil_feed", "volts"), ("points_ohm", "low"))
    left = []
    for order in orders:
        for test, outcome in order:
            assert (
                at_car.post("recommission_test", "cranks-no-spark", test, outcome=outcome).status_code == 302
            )
        search = at_car.get("recommission_fault", "cranks-no-spark").context["search"]
        left.append([one.cause for one in search.diagnosis.suspects])
        by = dict(search.unlikely)
        assert by["no feed: switch, fuse, wire or ballast"] == (
            "Volts at the coil's feed, ignition on, points closed.",
        )
        assert at_car.post("recommission_fault", "cranks-no-spark").status_code == 302
        assert at_car.get("recommission_fault", "cranks-no-spark").context["search"].tried == ()
    assert left[0] == left[1]
    assert "feed" not in left[0]


def test_a_result_of_a_test_that_is_no_longer_asked_is_told_and_counts_for_nothing(at_car):
    before = at_car.get("recommission_fault", "cranks-no-spark").context["search"].diagnosis
    log_entry(
        vehicle=at_car.car,
        kind=CareKind.FAULT_TEST,
        done_at=None,
        by=at_car.client.get("/").wsgi_request.user,
        idempotency_key="an old result",
        now=timezone.now(),
        details={"symptom": "cranks-no-spark", "test": "plug_spark", "outcome": "none"},
    )
    page = at_car.get("recommission_fault", "cranks-no-spark")
    assert page.context["search"].diagnosis == before
    shown = as_shown(page.content.decode())
    assert "Spark tester at a plug lead, cranking. <strong>None or weak</strong>" in shown
    assert "no longer asked" in shown


def test_a_test_that_could_not_be_done_excludes_nothing_and_is_not_proposed_again(at_car):
    before = at_car.get("recommission_fault", "no-charge").context["search"].diagnosis
    first = before.proposals[0].test
    assert at_car.post("recommission_test", "no-charge", first, could_not="no meter").status_code == 302
    after = at_car.get("recommission_fault", "no-charge").context["search"].diagnosis
    assert [one.cause for one in after.suspects] == [one.cause for one in before.suspects]
    assert first not in [one.test for one in after.proposals]


def test_a_test_without_an_outcome_is_refused(at_car):
    answer = at_car.post("recommission_test", "no-charge", choices.trees()["no-charge"].probes[0].key)
    assert answer.status_code == 200
    assert faults_of(answer)


def test_tests_that_need_power_wait_for_their_own_steps_and_none_of_a_missing_spark_for_the_starter(at_car):
    barred = dict(at_car.get("recommission_fault", "cranks-no-spark").context["search"].barred)
    feed = "Volts at the coil's feed, ignition on, points closed."
    assert any(reason.startswith("R5 current with all off") for reason in barred[feed])
    for probe in choices.trees()["cranks-no-spark"].probes:
        if probe.do not in barred:
            at_car.post("recommission_test", "cranks-no-spark", probe.key, could_not="no meter")
    page = at_car.get("recommission_fault", "cranks-no-spark").content.decode()
    assert "Each test that is left needs a permission first." in as_shown(page)
    assert "call an auto electrician" in as_shown(page)
    at_car.pass_everything()
    at_car.step("spark", answer="none")
    assert at_car.may() == [True, False, False, False]
    assert at_car.get("recommission_fault", "cranks-no-spark").context["search"].barred == ()


def test_the_plan_says_the_one_thing_to_do_next_and_calls_for_help_where_a_stop_asks_for_it(at_car):
    assert "Photograph everything" in as_shown(at_car.get("recommission_plan").content.decode())
    assert at_car.recommissioning.following.check == "photographed"
    at_car.step("structure", answer="do not raise")
    assert at_car.recommissioning.following.kind.name == "CALL"
    assert "a body engineer decides" in as_shown(at_car.get("recommission_plan").content.decode())


def test_a_part_that_nobody_knows_is_a_question_first_and_its_steps_wait(at_car):
    asked = {check.key for check in at_car.recommissioning.plan.checks}
    assert {"is_generator", "is_ignition"} <= asked
    assert not {"is_fuel", "is_volts", "charging", "points_closed", "glow_plugs"} & asked
    at_car.step("is_generator", answer="dynamo")
    at_car.step("is_ignition", answer="points")
    checks = {check.key: check for check in at_car.recommissioning.plan.checks}
    assert {"charging", "points_closed"} <= set(checks)
    assert "is_generator" not in checks
    assert checks["charging"].judge.pass_low == 13.2


def test_a_six_volt_car_gets_no_stop_for_healthy_volts(at_car):
    at_car.car.system_volts = 6
    at_car.car.save()
    at_car.step("is_generator", answer="dynamo")
    for check, value in (("battery_rest", "6.35"), ("battery_load", "4.9"), ("charging", "7.1")):
        at_car.step(check, value=value, unit="V")
        assert state_of(at_car, check) == "pass"


def test_only_the_searches_of_its_machine_are_offered(at_car):
    at_car.car.fuel_system = "diesel"
    at_car.car.save()
    offered = [tree.symptom for tree, _ in at_car.get("recommission_faults").context["trees"]]
    assert "diesel-no-start" in offered
    assert not {"cranks-no-spark", "spark-no-fuel", "runs-then-dies"} & set(offered)


# the end, and what it costs


def test_a_finished_waking_sets_up_regime_baseline_and_duties(at_car):
    at_car.pass_everything()
    assert at_car.post("recommission_end", regime="exercised", note="Runs well.").status_code == 302
    at_car.car.refresh_from_db()
    assert at_car.car.regime == "exercised"
    assert at_car.may() == [True] * 4
    volts = Reading.objects.get(quantity="rested_volts")
    assert volts.entry.note == "From the recommissioning."
    changed = Entry.objects.filter(kind=CareKind.FLUID_CHANGED).values_list("details__fluid", flat=True)
    assert sorted(changed) == ["brake_fluid", "engine_oil", "engine_oil"]
    duties = {row.duty: row for row in at_car.car.duties.all()}
    assert duties["engine_oil"].due > TODAY
    assert at_car.post("recommission_end", regime="exercised").status_code == 200
    assert Reading.objects.filter(quantity="rested_volts").count() == 1


def test_a_half_done_plan_ends_only_in_preservation_and_says_what_is_missing(at_car):
    at_car.step("hand_turn", answer="smoothly")
    answer = at_car.post("recommission_end", regime="exercised")
    assert any("The plan is not through: R0" in fault for fault in faults_of(answer))
    at_car.car.refresh_from_db()
    assert at_car.car.regime == "dormant"
    assert at_car.post("recommission_end", regime="preserved").status_code == 302
    at_car.car.refresh_from_db()
    assert at_car.car.regime == "preserved"
    assert Entry.objects.get(kind=CareKind.TAG_OPENED).details["tag"] == "engine_preserved"
    assert at_car.may() == [False] * 4


def test_a_second_waking_begins_with_nothing_done(at_car):
    at_car.pass_everything()
    at_car.post("recommission_end", regime="exercised")
    at_car.car.refresh_from_db()
    at_car.car.regime = "dormant"
    at_car.car.save()
    assert {stage.state for stage in at_car.recommissioning.states} == {"not done"}


def test_own_prices_make_the_estimate_in_the_one_money(at_desk):
    before = at_desk.recommissioning.estimate
    own = {"money": "EUR", "workshop_hour": "120", "parts_factor": "2"}
    own |= {"battery": "240", "tyre": "280", "brake_set": "320", "exhaust": "700", "small_part": "60"}
    assert at_desk.client.post(reverse("prices"), own).status_code == 302
    after = at_desk.recommissioning.estimate
    assert after.money == pytest.approx([2 * part for part in before.money])
    assert after.hours == before.hours
    assert "EUR " in at_desk.get("recommission_report").context["report"].total


def test_the_intake_report_differs_before_and_after_inspection(at_car):
    at_car.find("inspection_pass", on="2015-06-06", answers=["driven_there"])
    before = at_car.get("recommission_report", **{"as": "before"})
    at_car.step("photographed", answer="done")
    at_car.step("why_parked", answer="known")
    at_car.step("fluids_as_found", answer="done")
    at_car.answer_questions()
    now = at_car.get("recommission_report")
    assert before.context["report"].total != now.context["report"].total
    assert "What was measured and found" in now.content.decode()
    again = at_car.get("recommission_report", **{"as": "before"})
    assert again.context["report"].total == before.context["report"].total
    assert "What was measured and found" not in again.content.decode()


def test_the_report_before_inspection_knows_nothing_of_what_was_seen(at_car):
    at_car.find("inspection_pass", on="2005-06-06", answers=["driven_there"])

    def brakes(**query):
        rows = at_car.get("recommission_report", **query).context["report"].systems
        return next(row for row in rows if row[0] == choices.systems()["shoes"])

    unseen = brakes()
    assert at_car.post("recommission_look", "shoes", seen="good", text="free").status_code == 302
    assert brakes() != unseen
    assert brakes(**{"as": "before"}) == unseen


def paper(at, **query):
    answer = at.get("recommission_report_pdf", **query)
    assert answer["Content-Type"] == "application/pdf"
    read = pypdf.PdfReader(BytesIO(answer.content))
    return read, " ".join(" ".join(page.extract_text() for page in read.pages).split())


def texts_of(report):
    """Every word of a report, one text a statement."""
    tables = (
        report.identity,
        report.swings,
        report.events,
        report.evidence,
        report.systems,
        report.results,
        report.stages,
        report.lines,
    )
    rows = [cell for table in tables for row in table for cell in row if cell]
    reasons = [reason for _, _, why in report.allowed for reason in why]
    labels = [label for label, _, _ in report.allowed]
    return [
        report.lead,
        report.prepared,
        *report.hazards,
        report.total,
        *report.tags,
        *labels,
        *reasons,
        *report.open_tasks,
        *report.clashes,
        *rows,
    ]


def letters(words):
    """Without spaces, and without the hyphens and line ends that setting puts in."""
    return re.sub(r"[\s\-\u00ad\u2010]", "", words)


@pytest.mark.parametrize("query", [{"as": "before"}, {}], ids=["before", "as it stands"])
def test_the_intake_report_on_paper_says_what_the_page_says(at_car, query):
    at_car.find("odometer_now", odometer_km="98000", answers=["instrument_works"])
    at_car.find("odometer_reading", odometer_km="98000", on="2014-05-01")
    at_car.find("receipt", on="2018-08-01", note="#eval(1) *not bold* $x$")
    at_car.step("battery_rest", value="11.2", unit="V", instrument="voltmeter")
    at_car.step("hand_turn", could_not="no spanner fits")
    at_car.step("line_flow", answer="flows after clearing")
    answer = at_car.get("recommission_report", **query)
    report = answer.context["report"]
    page = letters(html.unescape(re.sub("<[^>]+>", "", answer.content.decode())))
    _, text = paper(at_car, **query)
    texts = texts_of(report)
    assert len(texts) > 60
    assert report.clashes
    assert bool(report.results) == bool(report.allowed) == (not query)
    for words in texts:
        assert letters(words) in letters(text), words
        assert letters(words) in page, words
    assert ("11.2 V" in text) == (not query)
    assert ("could not be done: no spanner fits" in text) == (not query)


def test_what_would_change_the_price_most_is_what_spreads_it_most_and_goes_when_looked_at(at_car):
    at_car.find("inspection_pass", on="2019-06-06", answers=["driven_there"])
    swings = at_car.get("recommission_report").context["report"].swings
    assert 0 < len(swings) <= 3
    labels = {label: name for name, label in choices.systems().items()}
    settled = labels[swings[0][0]]
    assert at_car.post("recommission_look", settled, seen="good", text="free").status_code == 302
    assert swings[0][0] not in [row[0] for row in at_car.get("recommission_report").context["report"].swings]


def test_the_report_names_the_car_its_odometer_its_evidence_and_its_hazards(at_car):
    at_car.find("odometer_now", odometer_km="98000", answers=["instrument_works"])
    assert at_car.post("recommission_hazards", present=["fuel leak"]).status_code == 302
    report = at_car.get("recommission_report").context["report"]
    assert dict(report.identity)["Odometer"].startswith("98000 km")
    assert [what for what, _, _ in report.evidence] == [choices.evidence_kinds()["odometer_now"].label]
    assert len(report.hazards) == 1
    assert "fire" in report.hazards[0].lower() or "fuel" in report.hazards[0].lower()


def test_the_paper_carries_the_exported_history_and_its_head(at_car):
    at_car.step("photographed", answer="done")
    read, text = paper(at_car)
    (file,) = read.attachments["history.json"]
    assert verify(file).sound
    assert at_car.get("recommission_report").context["report"].proof.head[:12] in letters(text)


def test_the_intake_reports_paper_is_archival_tagged_and_has_its_fonts_inside(at_car):
    read, _ = paper(at_car)
    root = read.trailer["/Root"]
    xmp = root["/Metadata"].get_object().get_data().decode()
    assert "<pdfaid:part>3</pdfaid:part>" in xmp
    assert "<pdfaid:conformance>A</pdfaid:conformance>" in xmp
    assert "<pdfuaid:part>1</pdfuaid:part>" in xmp
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en-GB"
    assert paper(at_car)[0].metadata.title == f"Intake report, {at_car.car}"
    for page in read.pages:
        for font in page["/Resources"]["/Font"].values():
            inner = font.get_object()["/DescendantFonts"][0].get_object()
            assert "/FontFile3" in inner["/FontDescriptor"] or "/FontFile2" in inner["/FontDescriptor"]


def test_the_report_page_leads_to_the_paper_of_the_same_report(at_car):
    url = reverse("recommission_report_pdf", args=[at_car.car.pk])
    assert f'href="{url}"' in at_car.get("recommission_report").content.decode()
    assert f'href="{url}?as=before"' in at_car.get("recommission_report", **{"as": "before"}).content.decode()


def test_a_tag_on_the_car_stands_on_the_paper_too(client_as, keeper, at_car):
    url = reverse("log_kind", args=[at_car.car.pk, "tag_opened"])
    fields = {"key": str(uuid.uuid4()), "tag": "danger", "where": "petrol drips at the tap"}
    assert at_car.client.post(url, fields).status_code == 302
    assert "petrol drips at the tap" in paper(at_car)[1]


def test_the_owner_reads_everything_and_writes_nothing(client_as, owner, at_car):
    reader = AtTheCar(client_as(owner), at_car.car)
    for name in (
        "recommissioning",
        "recommission_outlook",
        "recommission_plan",
        "recommission_report",
        "recommission_report_pdf",
    ):
        assert reader.get(name).status_code == 200
    assert reader.post("recommission_step", "hand_turn", answer="smoothly").status_code == 403
    assert reader.post("evidence_new", "receipt", on="2019-03-04").status_code == 403
    assert not Entry.objects.exists()
    assert not Evidence.objects.exists()


@pytest.mark.parametrize(
    "name", ["recommissioning", "recommission_outlook", "recommission_plan", "recommission_report", "car"]
)
def test_a_page_asks_as_often_with_two_finds_and_steps_as_with_twelve(at_car, name):
    def fill(count):
        for i in range(count):
            at_car.find("receipt", on=f"20{10 + i % 10}-03-04")
            at_car.step("photographed", answer="done")

    def queries():
        with CaptureQueriesContext(connection) as asked:
            assert at_car.get(name).status_code == 200
        return len(asked)

    fill(2)
    at_car.get(name)  # computes what is stale
    few = queries()
    fill(10)
    at_car.get(name)
    assert queries() == few
