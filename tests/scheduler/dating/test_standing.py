"""How long a car has stood: what each find bounds, what contradicts what, what else to look for."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.dating.codes import read_battery_code, read_tyre_code
from scheduler.dating.events import Event
from scheduler.dating.evidence import Evidence
from scheduler.dating.kinds_table import EVIDENCE_KINDS
from scheduler.dating.narrowing import TYPICAL, cut_days, most_worth_finding
from scheduler.dating.standing import standing_time
from scheduler.vocabulary.errors import BadInput

TODAY = date(2026, 11, 25)
FOUND = date(2026, 11, 20)
R, E, M, A = Event.ROAD_USE, Event.ENGINE_RUN, Event.MOVEMENT, Event.ATTENDED


def stood(*items, found=FOUND):
    return standing_time(items, found, TODAY)


def test_with_no_evidence_only_the_day_of_finding_bounds_every_event():
    for event in stood().events:
        assert event.with_soft.not_before is None
        assert event.with_soft.not_after == FOUND
        assert event.with_soft.standing_days(TODAY) == (5, None)


def test_a_road_use_is_a_run_a_movement_and_a_visit():
    answer = stood(Evidence("receipt", "receipt", date(2009, 5, 3)))
    assert {answer.of(event).with_soft.not_before for event in Event} == {date(2009, 5, 3)}
    assert answer.of(R).hard.not_before is None


def test_a_tree_bounds_movement_and_road_use_but_not_the_engine():
    answer = stood(Evidence("tree", "tree_rings", date(2026, 11, 20), count=12))
    assert answer.of(M).hard.not_after == answer.of(R).hard.not_after
    assert answer.of(M).hard.not_after.year == 2015
    assert answer.of(E).hard.not_after == FOUND


def test_one_ring_less_than_counted_is_taken():
    eleven = timedelta(days=int(11 * 365.2425))
    answer = stood(Evidence("tree", "tree_rings", FOUND, count=12))
    assert answer.of(M).hard.not_after == FOUND - eleven


def test_paper_under_a_tyre_bounds_movement_and_attendance_only():
    answer = stood(Evidence("paper", "paper_under_tyre", date(2011, 2, 1)))
    assert answer.of(M).hard.not_before == answer.of(A).hard.not_before == date(2011, 2, 1)
    assert answer.of(R).hard.not_before is None


def test_the_youngest_tyre_bounds_and_the_oldest_nothing():
    answer = stood(Evidence("old", "tyre_code", code="1003"), Evidence("young", "tyre_code", code="2211"))
    assert answer.of(A).hard.not_before_by == "young"
    assert answer.of(A).hard.not_before.year == 2011


def test_a_tyre_bounds_road_use_only_if_worn():
    fresh, worn = (
        stood(Evidence("tyre", "tyre_code", code="2211", answers=answers)).of(R)
        for answers in (frozenset(), frozenset({"worn"}))
    )
    assert fresh.with_soft.not_before is None
    assert worn.with_soft.not_before == date(2011, 5, 28)
    assert worn.hard.not_before is None


def test_a_battery_fitted_for_a_failed_start_proves_no_run():
    answer = stood(Evidence("battery", "battery_fitted", date(2014, 3, 1)))
    assert answer.of(E).with_soft.not_before is None
    assert answer.of(A).with_soft.not_before == date(2014, 3, 1)


def test_the_same_odometer_as_at_the_last_test_ends_road_use_there():
    test = Evidence("test", "inspection_pass", date(2008, 6, 12), odometer_km=84_210)
    now = Evidence("dial", "odometer_now", odometer_km=84_210, answers=frozenset({"instrument_works"}))
    answer = stood(test, now)
    assert answer.of(R).hard.not_after == date(2008, 6, 12)
    assert answer.of(M).hard.not_after == FOUND


def test_an_odometer_that_may_not_work_bounds_softly():
    test = Evidence("test", "inspection_pass", date(2008, 6, 12), odometer_km=84_210)
    answer = stood(test, Evidence("dial", "odometer_now", odometer_km=84_215))
    assert answer.of(R).hard.not_after == FOUND
    assert answer.of(R).with_soft.not_after == date(2008, 6, 19)


def test_more_kilometres_than_at_the_last_test_mean_road_use_since():
    test = Evidence("test", "inspection_pass", date(2008, 6, 12), odometer_km=84_210)
    answer = stood(test, Evidence("dial", "odometer_now", odometer_km=86_000))
    assert answer.of(R).with_soft.not_before == date(2008, 6, 12)


def test_an_odometer_that_ran_back_is_a_contradiction_between_two_named_items():
    test = Evidence("test", "inspection_pass", date(2008, 6, 12), odometer_km=84_210)
    (clash,) = stood(test, Evidence("dial", "odometer_now", odometer_km=4_000)).contradictions
    assert (clash.first, clash.second) == ("test", "dial")
    assert "4000 km now" in clash.text


def test_contradictions_name_both_items_and_are_never_averaged():
    tree = Evidence("tree", "tree_rings", FOUND, count=15)
    paper = Evidence("paper", "paper_under_tyre", date(2019, 7, 1))
    answer = stood(tree, paper)
    assert [(clash.first, clash.second) for clash in answer.contradictions] == [("paper", "tree")]
    movement = answer.of(M).hard
    assert movement.contradictory
    assert movement.standing_days(TODAY) is None
    assert (movement.not_before_by, movement.not_after_by) == ("paper", "tree")


def test_soft_evidence_leaves_the_hard_interval_alone():
    seller = Evidence("seller", "statement", date(2012, 1, 1), date(2012, 12, 31), event=R)
    answer = stood(seller)
    assert answer.of(R).hard.not_before is None
    assert answer.of(R).with_soft.not_before == date(2012, 1, 1)
    assert answer.of(R).with_soft.not_after == date(2012, 12, 31)


def test_three_digits_on_a_tyre_leave_the_decade_open():
    assert [span.first.year for span in read_tyre_code("228", TODAY)] == [1978, 1988, 1998]
    assert [span.first.year for span in read_tyre_code("228", TODAY, triangle=True)] == [1998]
    assert [span.first.year for span in read_tyre_code("2208", TODAY)] == [2008]


def test_a_tyre_week_before_such_codes_existed_is_no_reading():
    assert [span.first.year for span in read_tyre_code("100", TODAY)] == [1980, 1990]


@pytest.mark.parametrize("code", ["", "5412", "0012", "99999", "22x1", "5226"])
def test_an_impossible_tyre_code_is_refused_with_the_fix(code):
    with pytest.raises(BadInput, match="code"):
        read_tyre_code(code, TODAY)


def test_a_battery_digit_leaves_the_decade_open_and_late_letters_the_month():
    assert {span.text for span in read_battery_code("C7", TODAY)} == {
        f"March {year}" for year in (1957, 1967, 1977, 1987, 1997, 2007, 2017)
    }
    assert {span.first.month for span in read_battery_code("K7", TODAY)} == {10, 11}


def test_an_ambiguous_code_is_carried_as_alternatives_and_hard_facts_exclude_some():
    tyre = Evidence("tyre", "tyre_code", code="228")
    open_answer = stood(tyre).of(A).hard
    assert [scenario.not_before.year for scenario in open_answer.scenarios] == [1978, 1988, 1998]
    early = stood(tyre, found=date(1995, 1, 1))
    assert [scenario.not_before.year for scenario in early.of(A).hard.scenarios] == [1978, 1988]
    assert [(gone.key, gone.by) for gone in early.excluded] == [("tyre", "found")]


def test_fuel_and_flat_spots_bound_nothing():
    kinds = ("fuel_state", "fuel_leaded", "brake_fluid_water", "standing_marks")
    answer = stood(*(Evidence(kind, kind, date(2001, 1, 1)) for kind in kinds))
    assert [bound.key for bound in answer.bounds] == ["found"]


@pytest.mark.parametrize(
    ("item", "argument"),
    [
        (Evidence("a", "tea_leaves", TODAY), "kind"),
        (Evidence("a", "receipt"), "on"),
        (Evidence("a", "receipt", date(2030, 1, 1)), "on"),
        (Evidence("a", "receipt", date(2010, 1, 2), date(2010, 1, 1)), "until"),
        (Evidence("a", "tree_rings", TODAY), "count"),
        (Evidence("a", "statement", TODAY), "event"),
        (Evidence("a", "odometer_now"), "odometer_km"),
        (Evidence("a", "receipt", TODAY, odometer_km=float("nan")), "odometer_km"),
        (Evidence("found", "receipt", TODAY), "key"),
    ],
)
def test_a_malformed_item_is_refused_by_the_name_of_its_field(item, argument):
    with pytest.raises(BadInput) as caught:
        stood(item)
    assert caught.value.argument == argument


def test_every_kind_tells_its_strength_and_its_trap():
    assert all(kind.strength and kind.trap and kind.source.text for kind in EVIDENCE_KINDS.values())
    assert set(TYPICAL) <= set(EVIDENCE_KINDS)


def test_the_expected_cut_is_half_the_interval_for_a_bound_on_the_day_itself():
    assert cut_days(1000.0, 0.0) == 500.0
    assert cut_days(1000.0, 500.0) == 125.0
    assert cut_days(1000.0, 1000.0) == 0.0


def test_with_a_dated_odometer_reading_the_dial_is_the_best_next_look():
    test = Evidence("test", "inspection_pass", date(1996, 6, 12), odometer_km=84_210)
    worths = most_worth_finding([test], stood(test), R)
    assert worths[0].kind == "odometer_now"
    assert "inspection_pass" not in {worth.kind for worth in worths}


def test_a_narrow_interval_leaves_nothing_worth_finding():
    both = Evidence("both", "statement", FOUND - timedelta(days=2), FOUND, event=R)
    assert most_worth_finding([both], stood(both), R) == ()


DATED = [
    name for name, kind in EVIDENCE_KINDS.items() if kind.claims and name not in ("battery_made", "tyre_code")
]
days = st.dates(date(1960, 1, 1), FOUND)


@st.composite
def finds(draw):
    kinds = draw(
        st.lists(
            st.sampled_from([*DATED, "tyre_code", "battery_made", "odometer_now", "statement"]),
            min_size=1,
            max_size=7,
        )
    )
    return [_find(draw, f"{i}", kind) for i, kind in enumerate(kinds)]


def _find(draw, key, kind):
    codes = {"tyre_code": ["228", "010", "2211", "5206"], "battery_made": ["C7", "K1", "A0"]}
    code = draw(st.sampled_from(codes[kind])) if kind in codes else ""
    answers = frozenset(
        draw(st.sets(st.sampled_from(["worn", "driven_there", "instrument_works", "unbroken"])))
    )
    odometer = draw(st.sampled_from([50_000.0, 50_005.0, 60_000.0]))
    given_day = None if kind in codes or kind == "odometer_now" else draw(days)
    event, count = draw(st.sampled_from(list(Event))), draw(st.integers(1, 40))
    return Evidence(
        key, kind, given_day, odometer_km=odometer, code=code, count=count, event=event, answers=answers
    )


def inside(narrow, wide):
    above = wide.not_before is None or (
        narrow.not_before is not None and narrow.not_before >= wide.not_before
    )
    return above and narrow.not_after <= wide.not_after and narrow.contradictory >= wide.contradictory


@settings(max_examples=80, deadline=None)
@given(finds())
def test_adding_evidence_never_widens_an_interval(items):
    fewer, more = stood(*items[:-1]), stood(*items)
    for event in Event:
        assert inside(more.of(event).hard, fewer.of(event).hard)
        assert inside(more.of(event).with_soft, fewer.of(event).with_soft)
        assert inside(more.of(event).with_soft, more.of(event).hard)


@settings(max_examples=60, deadline=None)
@given(finds(), st.randoms(use_true_random=False))
def test_the_order_of_evidence_never_changes_the_answer(items, random):
    shuffled = random.sample(items, len(items))
    assert stood(*shuffled) == stood(*items)


@settings(max_examples=60, deadline=None)
@given(finds())
def test_every_contradictory_interval_has_its_two_items_in_the_list(items):
    answer = stood(*items)
    pairs = {(clash.first, clash.second) for clash in answer.contradictions}
    for event in answer.events:
        if event.with_soft.contradictory:
            assert (event.with_soft.not_before_by, event.with_soft.not_after_by) in pairs
