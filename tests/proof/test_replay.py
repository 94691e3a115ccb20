"""What entries of a record tell by day: the last word, corrections, late moves, moves out of tables."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.chain.links import instant
from collection.chain.replay import bay_line, moves_of, replay, timeline

START = datetime(2026, 1, 1, 12, tzinfo=UTC)


def moment(day):
    return instant(START + timedelta(days=day))


def entry(number, kind, day, written, details, corrects=None, key="k"):
    return {
        "id": str(number),
        "kind": kind,
        "done_at": moment(day),
        "recorded_at": moment(written),
        "details": details,
        "corrects": corrects,
        "key": key,
    }


def opening(number, written, **values):
    facts = {name: {"was": None, "now": value, "since": None} for name, value in values.items()}
    return entry(number, "record", written, written, facts | {"opening": True})


def told(number, written, since, corrects=None, **values):
    fact = {"was": None, "since": moment(since)[:10]} | ({"corrects": corrects} if corrects else {})
    facts = {name: fact | {"now": value} for name, value in values.items()}
    return entry(number, "record", since, written, facts | {"opening": False})


def moved(number, done, written, bay, **more):
    return entry(number, "moved", done, written, {"wheels_only": False, "to_bay": bay}, **more)


def stood(*entries):
    records = [each for each in entries if each["kind"] == "record"]
    line = bay_line(records, moves_of(entries))
    return [(fact.value, fact.since and fact.since[:10]) for fact in line]


def day(number):
    return moment(number)[:10]


def test_what_is_written_later_holds_from_its_day_on_over_what_was_written_before():
    records = [opening(1, 0, regime="a"), told(2, 50, 40, regime="b"), told(3, 60, 20, regime="c")]
    assert [(fact.value, fact.since) for fact in timeline(records, "regime")] == [("a", None), ("c", day(20))]


def test_a_correction_takes_the_place_of_what_it_corrects_and_a_second_that_of_the_first():
    records = [
        opening(1, 0, regime="a"),
        told(2, 30, 30, regime="b"),
        told(3, 40, 30, corrects="2", regime="c"),
        told(4, 50, 50, regime="d"),
        told(5, 60, 30, corrects="3", regime="e"),
    ]
    assert [fact.value for fact in timeline(records, "regime")] == ["a", "e", "d"]


def test_a_second_opening_says_of_what_it_does_not_name_that_it_is_gone():
    records = [opening(1, 0, engine="six", regime="a"), opening(2, 90, regime="a")]
    assert [(fact.value, fact.since) for fact in timeline(records, "engine")] == [
        ("six", None),
        (None, day(90)),
    ]
    assert replay(records) == {"regime": "a"}


def test_no_entry_that_opens_tells_no_record():
    assert replay([moved(1, 1, 1, 4)]) is None


@pytest.mark.parametrize(
    ("entries", "expected"),
    [
        ([opening(1, 0, bay=1), moved(2, 5, 5, 2)], [(1, None), (2, day(5))]),
        ([moved(2, 5, 5, 2), opening(1, 9, bay=1)], [(1, day(5))]),
        ([opening(1, 0, bay=1), moved(2, 5, 5, 2), moved(3, 3, 7, 3)], [(1, None), (3, day(3)), (2, day(5))]),
        (
            [opening(1, 0, bay=1), told(2, 9, 9, bay=4), moved(3, 5, 11, 2)],
            [(1, None), (2, day(5)), (4, day(9))],
        ),
        ([opening(1, 0, bay=1), moved(2, 5, 5, 2), told(3, 9, 4, bay=4)], [(1, None), (4, day(4))]),
        (
            [opening(1, 0, bay=1), moved(2, 5, 5, 2), moved(3, 5, 8, 3, corrects="2")],
            [(1, None), (3, day(5))],
        ),
        (
            [opening(1, 0, bay=1), moved(2, 5, 5, 2), entry(3, "withdrawn", 5, 6, {}, corrects="2")],
            [(1, None)],
        ),
    ],
)
def test_the_bay_by_moves_and_record(entries, expected):
    assert stood(*entries) == expected


@pytest.mark.parametrize(
    ("done", "expected"),
    [
        (-50, [(1, None), (7, day(-50)), (1, day(10))]),
        (15, [(1, None), (7, day(15)), (1, day(30))]),
    ],
)
def test_a_move_out_of_a_table_tells_of_then_and_the_car_stays_where_the_record_has_it(done, expected):
    brought = moved(3, done, 30, 7, key="sheet-1-2")
    assert stood(opening(1, 10, bay=1), brought) == expected
    assert replay([opening(1, 10, bay=1), brought])["bay"] == 1


EVENTS = st.lists(
    st.tuples(st.sampled_from(["move", "table", "record", "correct"]), st.integers(0, 60), st.integers(1, 9)),
    max_size=8,
)


@given(EVENTS)
def test_the_bays_come_in_the_order_of_their_days_and_a_later_day_changes_none_before_it(events):
    entries = [opening(0, 0, bay=99)]
    for number, (what, since, bay) in enumerate(events, 1):
        before, written = stood(*entries), 60 + number
        if what == "record":
            entries.append(told(number, written, since, bay=bay))
        elif what == "correct":
            last = next(each for each in reversed(entries) if each["kind"] == "record")
            entries.append(told(number, written, 0, corrects=last["id"], bay=bay))
        else:
            entries.append(moved(number, since, written, bay, key="sheet-1" if what == "table" else "k"))
        line = stood(*entries)
        days = [each or "" for _, each in line]
        assert days == sorted(days)
        if what != "correct":
            kept = [fact for fact in before if (fact[1] or "") < day(since)]
            assert line[: len(kept)] == kept
        if what == "table":
            assert line[-1][0] == before[-1][0]
