"""Writing by the API: by the rules of the pages, once a key, and what is refused names field and fix."""

import json
import uuid
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collection.api.actions.writes import forget_old_writes
from collection.api.entries_sent import ENTRY_SENT, NOT_BY_HAND, WRITTEN_ELSEWHERE
from collection.care.rules import DETAILS
from collection.chain.verify import verify
from collection.models import ApiToken, ApiWrite, DutyRow, Entry
from collection.proof.actions import export_history
from tests.api.api_kit import now, programme, token_for

KEY = "11111111-2222-4333-8444-555555555555"
RUN = {"kind": "run_up", "details": {"minutes": 25, "reached_temperature": True, "driven": True}}


@pytest.fixture
def path(car):
    return f"/cars/{car.pk}/entries"


@pytest.fixture
def program(keeper):
    return programme(keeper)


def test_every_kind_of_care_has_a_shape_made_from_the_rules_of_the_log():
    assert set(ENTRY_SENT) == set(DETAILS) - WRITTEN_ELSEWHERE
    for kind, shape in ENTRY_SENT.items():
        field = shape.model_fields.get("details")
        known = set(field.annotation.model_fields) if field else set()
        assert known == set(DETAILS[kind]) - NOT_BY_HAND.get(kind, frozenset()), kind


def test_an_entry_is_stored_chained_and_moves_the_dates(program, path, car):
    program.get("/duties")
    before = DutyRow.objects.get(vehicle=car, duty="run_up").due
    answer = program.post(path, RUN)
    assert answer.status_code == 201
    stored, entry = answer.json(), Entry.objects.get()
    assert stored["id"] == str(entry.pk)
    assert entry.details == RUN["details"]
    assert stored["done_at"].endswith("Z")
    assert DutyRow.objects.get(vehicle=car, duty="run_up").due > before
    assert program.get(f"{path}/{entry.pk}").json() == stored


def test_readings_are_stored_in_si_units_and_told_with_their_unit(program, path):
    sent = {
        "kind": "tyre_pressures",
        "readings": [
            {"quantity": "tyre_pressure", "position": "front_left", "value": 215, "temperature_c": 8}
        ],
    }
    (reading,) = program.post(path, sent).json()["readings"]
    assert (reading["value"], reading["unit"], reading["position"]) == (215, "kPa", "front_left")
    assert program.get("/readings", quantity="tyre_pressure").json()["total"] == 1


# when it was done


@pytest.mark.parametrize(
    "offset", ["Z", "z", "+00:00", "-00:00", "+01:00", "-03:30", "+05:45", "+14:00", "-23:59"]
)
@pytest.mark.parametrize("mark", ["T", "t"])
def test_what_was_done_before_is_written_with_the_day_it_was_done(program, path, offset, mark):
    local = (now() - timedelta(days=40)).replace(tzinfo=None, microsecond=0)
    written = local.isoformat().replace("T", mark) + offset
    answer = program.post(path, RUN | {"done_at": written})
    assert answer.status_code == 201, answer.content
    meant = datetime.fromisoformat(local.isoformat() + offset.upper())
    assert Entry.objects.get().done_at == meant
    assert datetime.fromisoformat(answer.json()["done_at"]) == meant
    assert answer.json()["done_at"].endswith("Z")


FRACTIONS = {".5": 500_000, ".25": 250_000, ".123456": 123_456, ".123456789012": 123_456, "": 0}


@pytest.mark.parametrize("fraction", FRACTIONS)
def test_parts_of_a_second_are_kept_as_far_as_the_log_holds_them(program, path, fraction):
    assert program.post(path, RUN | {"done_at": f"2024-02-29T10:00:00{fraction}Z"}).status_code == 201
    assert Entry.objects.get().done_at.microsecond == FRACTIONS[fraction]


def test_a_leap_second_is_the_one_before_midnight_and_counts_as_midnight(program, path):
    assert program.post(path, RUN | {"done_at": "2016-12-31T23:59:60Z"}).status_code == 201
    assert Entry.objects.get().done_at == datetime(2017, 1, 1, tzinfo=UTC)


def test_a_run_of_last_month_moves_the_dates_less_than_one_of_today(program, path, car, neighbour_car):
    ago = (now() - timedelta(days=30)).isoformat()
    program.post(path, RUN | {"done_at": ago})
    program.post(f"/cars/{neighbour_car.pk}/entries", RUN)
    old, fresh = (DutyRow.objects.get(vehicle=each, duty="run_up").due for each in (car, neighbour_car))
    assert fresh - old >= timedelta(days=29)


def test_an_entry_of_before_is_chained_and_verifies(program, path, car):
    program.post(path, RUN)
    program.post(path, RUN | {"done_at": "2026-05-01T09:00:00+02:00"})
    assert verify(export_history(car, now=now())).faults == []


def test_findings_and_answers_of_before_are_written_too(program, car):
    finding_at, seen_at = "2026-05-01T09:00:00+02:00", "2026-05-02T17:00:00-05:00"
    finding = program.post(f"/cars/{car.pk}/findings", {"found": "Damage", "done_at": finding_at})
    assert (finding.status_code, finding.json()["done_at"]) == (201, "2026-05-01T07:00:00Z")
    answer = f"/cars/{car.pk}/findings/{finding.json()['id']}/answer"
    seen = program.post(answer, {"words": "beaten out", "done_at": seen_at})
    assert (seen.status_code, seen.json()["done_at"]) == (201, "2026-05-02T22:00:00Z")


NO_SUCH = "no such moment: check day, time and offset"
WRITE = "write a moment with its offset, such as"
WRONG_MOMENTS = [
    (1700000000, WRITE),
    ("1700000000", WRITE),
    ("2026-11-25", WRITE),
    ("2026-11-25T09:30:00", WRITE),
    ("2026-11-25 09:30:00Z", WRITE),
    ("2026-11-25T09:30Z", WRITE),
    ("20261125T093000Z", WRITE),
    ("2026-W48-3T09:30:00Z", WRITE),
    ("2026-11-25T09:30:00+0100", WRITE),
    ("２０２６-11-25T09:30:00Z", WRITE),
    (" 2026-11-25T09:30:00Z", WRITE),
    ("2026-11-25T09:30:00Z\n", WRITE),
    ("2026-11-25T09:30:00." + "1" * 100_000 + "Z", WRITE),
    ("2026-11-25T24:00:00Z", WRITE),
    ("2026-02-30T09:30:00Z", NO_SUCH),
    ("2026-11-25T09:30:61Z", NO_SUCH),
    ("2026-11-25T09:30:00+24:00", NO_SUCH),
    ("2026-11-25T09:30:00+01:60", WRITE),
    ("0000-01-01T00:00:00Z", NO_SUCH),
    ("9999-12-31T23:59:60Z", NO_SUCH),
    ("2199-01-01T00:00:00Z", "This is in the future: give the time when it was done."),
    ("9999-12-31T23:59:59-23:59", NO_SUCH),
    ("1884-12-31T23:59:59Z", "This is before the first motor car of 1885: check the year."),
    ("0001-01-01T00:00:00+23:59", NO_SUCH),
    ([], WRITE),
    ({"year": 2026}, WRITE),
    (True, WRITE),
]


@pytest.mark.parametrize(("sent", "words"), WRONG_MOMENTS, ids=range(len(WRONG_MOMENTS)))
def test_a_moment_that_is_none_or_cannot_be_is_refused_in_words(program, path, sent, words):
    answer = program.post(path, RUN | {"done_at": sent})
    assert answer.status_code == 422
    fault = answer.json()["errors"][0]
    assert fault["field"] == "done_at"
    assert words in fault["detail"]
    assert not Entry.objects.exists()


def test_an_hour_ahead_is_in_the_future_whatever_its_offset(program, path):
    ahead = now() + timedelta(hours=1)
    for hours in (-12, 0, 14):
        written = ahead.astimezone(timezone(timedelta(hours=hours))).isoformat()
        answer = program.post(path, RUN | {"done_at": written})
        assert "in the future" in answer.json()["detail"]


# once


def test_sent_again_it_is_answered_the_same_and_stored_once(program, path):
    first, again = program.post(path, RUN, key=KEY), program.post(path, RUN, key=KEY)
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.json() == again.json()
    assert Entry.objects.count() == 1


def test_the_answer_stays_what_it_was_when_the_entry_has_been_corrected_since(program, path):
    first = program.post(path, RUN, key=KEY)
    assert program.post(f"{path}/{first.json()['id']}/correction", RUN | {"note": "x"}).status_code == 201
    assert program.post(path, RUN, key=KEY).json() == first.json()


def test_another_body_under_the_same_key_is_refused(program, path):
    program.post(path, RUN, key=KEY)
    answer = program.post(path, RUN | {"note": "other"}, key=KEY)
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == "Idempotency-Key"
    assert Entry.objects.count() == 1


def test_the_key_of_another_address_is_refused(program, path, neighbour_car):
    program.post(path, RUN, key=KEY)
    assert program.post(f"/cars/{neighbour_car.pk}/entries", RUN, key=KEY).status_code == 422


def test_two_programmes_may_use_one_key(program, path, manager):
    program.post(path, RUN, key=KEY)
    assert programme(manager).post(path, RUN, key=KEY).status_code == 201
    assert Entry.objects.count() == 2


def test_what_was_refused_may_be_sent_again_under_its_key(program, path):
    wrong = RUN | {"done_at": "2199-01-01T00:00:00Z"}
    assert program.post(path, wrong, key=KEY).status_code == 422
    assert program.post(path, RUN, key=KEY).status_code == 201


def test_a_key_is_needed(program, path):
    answer = program.client.post(
        "/api/v1" + path, json.dumps(RUN), content_type="application/json", headers=program.headers
    )
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == "Idempotency-Key"


def test_the_log_keeps_the_key_when_the_answer_is_forgotten(program, path):
    program.post(path, RUN, key=KEY)
    ApiWrite.objects.update(at=now() - timedelta(days=31))
    assert forget_old_writes(now=now()) == 1
    assert program.post(path, RUN, key=KEY).status_code == 201
    assert Entry.objects.count() == 1


def test_it_is_known_which_token_wrote_what_and_when(program, path):
    program.post(path, RUN, key=KEY)
    write = ApiWrite.objects.get()
    assert (write.token, write.path) == (ApiToken.objects.get(), f"/api/v1{path}")
    assert write.answer["id"] == str(Entry.objects.get().pk)


# corrections, findings


def test_a_correction_takes_the_place_and_the_old_stays_readable(program, path):
    old = program.post(path, RUN).json()
    new = program.post(f"{path}/{old['id']}/correction", RUN | {"note": "with the hood up"}).json()
    assert new["corrects_id"] == old["id"]
    assert program.get(f"{path}/{old['id']}").json()["corrected_by_id"] == new["id"]
    assert [one["id"] for one in program.get("/entries", standing="true").json()["items"]] == [new["id"]]
    late = program.post(f"{path}/{old['id']}/correction", RUN)
    assert late.status_code == 422
    assert "already corrected" in late.json()["detail"]


def test_a_withdrawal_takes_it_out(program, path, car):
    old = program.post(path, RUN).json()
    assert program.post(f"{path}/{old['id']}/withdrawal", {"note": "wrong car"}).status_code == 201
    assert program.get("/entries", standing="true").json()["total"] == 0
    assert verify(export_history(car, now=now())).faults == []


def test_a_finding_hangs_its_tag_and_is_seen_to(program, car):
    finding = program.post(f"/cars/{car.pk}/findings", {"found": "Petrol leak", "words": "left side"}).json()
    assert [one["id"] for one in program.get(f"/cars/{car.pk}/findings").json()] == [finding["id"]]
    (tag,) = program.get(f"/cars/{car.pk}/tags").json()
    assert tag["details"]["tag"] == "danger"
    sent = {"words": "hose renewed"}
    assert program.post(f"/cars/{car.pk}/findings/{finding['id']}/answer", sent).status_code == 201
    assert program.get(f"/cars/{car.pk}/findings").json() == []


# refusals

REFUSED = [
    ({"kind": "run_up", "details": {}}, "details.minutes"),
    ({"kind": "run_up", "details": RUN["details"] | {"minutes": "25"}}, "details.minutes"),
    ({"kind": "run_up", "details": RUN["details"] | {"minutes": 10**9}}, "details.minutes"),
    ({"kind": "run_up", "details": RUN["details"] | {"driven": 1}}, "details.driven"),
    ({"kind": "run_up", "details": RUN["details"] | {"colour": "red"}}, "details.colour"),
    ({"kind": "note", "note": "with \0 in it"}, "note"),
    ({"kind": "note", "note": "half a pair \ud800"}, "note"),
    ({"kind": "note", "note": " "}, "note"),
    ({"kind": "note", "note": "x" * 2001}, "note"),
    ({"kind": "withdrawn"}, ""),
    ({"kind": "juggled"}, ""),
    ({"kind": "fuel_added", "details": {"litres": 900}}, "litres"),
    ({"kind": "battery_reading", "readings": []}, "readings"),
    (
        {
            "kind": "battery_reading",
            "readings": [
                {"quantity": "rested_volts", "value": 12.5},
                {"quantity": "rested_volts", "value": "12.5"},
            ],
        },
        "readings.1.value",
    ),
    ({"kind": "battery_reading", "readings": [{"quantity": "colour", "value": 1}]}, "readings.0"),
    ({"kind": "moved", "details": {"wheels_only": False, "to_bay": 2**62}}, "to_bay"),
]


@pytest.mark.parametrize(("sent", "field"), REFUSED)
def test_what_is_refused_names_the_field_and_nothing_is_stored(program, path, sent, field):
    answer = program.post(path, sent)
    assert answer.status_code == 422, answer.content
    stored = answer.json()
    assert stored["errors"][0]["field"] == field, stored
    assert stored["errors"][0]["detail"]
    assert not Entry.objects.exists()
    assert not ApiWrite.objects.exists()


UNREADABLE = [b"", b"{", b"\xff\xfe", b"[" * 100_000, b'{"kind": ' + b"9" * 5000 + b"}", b'"kind"', b"null"]


@pytest.mark.parametrize("raw", UNREADABLE, ids=range(len(UNREADABLE)))
def test_a_body_that_is_no_json_is_refused(program, path, raw):
    answer = program.post(path, raw)
    assert answer.status_code in (400, 422), answer.content
    assert answer["Content-Type"] == "application/problem+json"


@pytest.mark.parametrize("number", ["NaN", "Infinity", "1e999"])
def test_what_is_no_number_is_refused(program, path, number):
    raw = b'{"kind": "run_up", "details": {"minutes": %s, "reached_temperature": true, "driven": true}}'
    assert program.post(path, raw % number.encode()).status_code == 422


def test_a_body_that_is_too_large_is_refused(program, path):
    answer = program.post(path, b'{"kind": "note", "note": "' + b"x" * 3_000_000 + b'"}')
    assert answer.status_code == 413
    assert answer["Content-Type"] == "application/problem+json"


@pytest.mark.parametrize("number", ["0", "-1", "1.0", "+1", "9" * 30, "%00", "x", "１"])
def test_an_address_with_a_number_that_is_none_is_refused(program, number):
    assert program.get(f"/cars/{number}").status_code in (404, 422)


def test_what_cannot_be_true_of_the_car_is_refused(program, path, car):
    car.left_on = now().date()
    car.save()
    answer = program.post(path, RUN)
    assert answer.status_code == 422
    assert "left storage" in answer.json()["detail"]


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=10), inner, max_size=4),
    max_leaves=12,
)


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(kind=st.sampled_from([*ENTRY_SENT, "x"]), details=json_values, readings=json_values, note=json_values)
def test_nothing_that_is_sent_brings_it_down(program, path, kind, details, readings, note):
    sent = {"kind": kind, "details": details, "readings": readings, "note": note}
    raw = json.dumps(sent).encode()
    assert program.post(path, raw, key=str(uuid.uuid4())).status_code in (201, 400, 422)


def test_a_token_without_the_scope_writes_nothing(manager, path):
    _, secret = token_for(manager, "read:log")
    from tests.api.api_kit import Programme

    assert Programme(secret).post(path, RUN).status_code == 403
    assert not Entry.objects.exists()
