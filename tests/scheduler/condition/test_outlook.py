"""What has probably failed after so long, in words, with reasons."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.condition.likelihood import chance_after, in_words
from scheduler.condition.outlook import CONDITIONS, Finding, Seen, Stood, outlook, spell_of
from scheduler.condition.systems import HASTENS, SPARES, SYSTEMS
from scheduler.dating.events import Event
from scheduler.dating.evidence import Evidence
from scheduler.dating.standing import standing_time
from scheduler.vocabulary.errors import BadInput

YEAR = 365.2425


def of(name, stood, *findings):
    return next(answer for answer in outlook(stood, findings) if answer.system == name)


def test_the_chance_is_a_tenth_at_the_earliest_onset_and_nine_tenths_at_the_latest():
    assert chance_after(100.0, 100.0, 900.0) == pytest.approx(0.1)
    assert chance_after(300.0, 100.0, 900.0) == pytest.approx(0.5)
    assert chance_after(900.0, 100.0, 900.0) == pytest.approx(0.9)
    assert chance_after(0.0, 100.0, 900.0) == 0.0


@pytest.mark.parametrize(
    ("chance", "words"),
    [(0.0, "rare"), (0.1, "unlikely"), (0.35, "about even"), (0.65, "likely"), (0.9, "almost certain")],
)
def test_the_ladder_of_words(chance, words):
    assert in_words(chance) == words


def test_after_ten_years_battery_fuel_and_brakes_are_almost_certain():
    stood = Stood(10 * YEAR, 12 * YEAR, conditions=frozenset({"vented tank", "part full"}))
    for name in ("battery", "petrol", "carburettor", "tank", "brake_hydraulics", "bores"):
        assert of(name, stood).words == "almost certain"


def test_after_a_fortnight_only_the_quick_ones_are_more_than_rare():
    stood = Stood(14, 14, damp_share=0.2)
    quick = {answer.system for answer in outlook(stood) if answer.words != "rare"}
    assert {"wiring", "trim"} <= quick
    assert not quick & {"bores", "tank", "brake_hydraulics", "tyres", "cooling"}


def test_an_unknown_standing_time_is_told_as_a_wide_range():
    answer = of("brake_hose", Stood(30, None))
    assert answer.low < 0.01
    assert answer.high > 0.99
    assert answer.words == answer.range_in_words == "nobody knows"
    assert answer.reasons[0] == "it has stood at least 30 days, and nobody knows how much longer"


def test_what_both_ends_agree_on_is_known_however_long_it_stood():
    assert of("brake_hose", Stood(9000, None)).words == "almost certain"


def test_a_car_of_which_only_its_age_is_known_has_stood_nobody_knows_how_long():
    today, found = date(2026, 11, 25), date(2026, 11, 19)
    built = Evidence("built", "first_registered", date(1950, 1, 1))
    time = standing_time([built], found, today)
    stood = spell_of(time, Event.ROAD_USE, today, {"built"})
    assert stood.days == (6, None)
    assert stood.longest_days == (today - date(1950, 1, 1)).days  # the plan still asks for what age asks
    left = Evidence("notice", "off_road_notice", date(2001, 1, 1))
    bounded = spell_of(standing_time([built, left], found, today), Event.ROAD_USE, today, {"built"})
    assert bounded.is_known


def test_what_was_seen_overrules_and_a_fault_outweighs_a_good_word():
    stood = Stood(30, 60)
    good, bad = Finding("brake_hose", Seen.GOOD, "supple"), Finding("brake_hose", Seen.FAULTY, "swollen")
    assert of("brake_hose", stood, bad, good).words == "almost certain"
    assert of("brake_hose", Stood(9000, 9000), good).words == "rare"
    assert "swollen" in of("brake_hose", stood, good, bad).reasons[0]


def test_preserved_bores_keep_longer_and_damp_ones_less_long():
    year = Stood(YEAR, YEAR)
    preserved = of("bores", replace(year, conditions=frozenset({"preserved"})))
    damp, dry = (of("bores", replace(year, damp_share=share)) for share in (1.0, 0.0))
    assert preserved.likely < dry.likely < damp.likely
    assert any("preserved" in reason for reason in preserved.reasons)


def test_every_system_says_what_to_look_at_and_what_to_leave_alone():
    assert len(SYSTEMS) == 20
    for answer in outlook(Stood(1, 2)):
        assert answer.first_look
        assert answer.do_not
        assert answer.source


def test_every_condition_that_a_system_names_has_its_factor():
    assert {name for system in SYSTEMS for name in system.hastened_by} <= set(HASTENS)
    assert {name for system in SYSTEMS for name in system.spared_by} <= set(SPARES)
    assert set(CONDITIONS) <= {n for s in SYSTEMS for n in s.hastened_by + s.spared_by}


@pytest.mark.parametrize(
    ("stood", "findings", "argument"),
    [
        (Stood(-1, 5), (), "shortest_days"),
        (Stood(10, 5), (), "shortest_days"),
        (Stood(float("nan"), 5), (), "shortest_days"),
        (Stood(1, 5, 1.5), (), "damp_share"),
        (Stood(1, 5, conditions=frozenset({"haunted"})), (), "conditions"),
        (Stood(1, 5), (Finding("soul", Seen.GOOD, ""),), "system"),
    ],
)
def test_malformed_input_is_refused_by_name(stood, findings, argument):
    with pytest.raises(BadInput) as caught:
        outlook(stood, findings)
    assert caught.value.argument == argument


@settings(max_examples=60, deadline=None)
@given(st.floats(0, 20000), st.floats(0, 20000), st.floats(0, 1), st.sets(st.sampled_from(CONDITIONS)))
def test_low_likely_high_keep_their_order_and_longer_is_never_better(first, second, damp, conditions):
    short, long = sorted((first, second))
    wide = outlook(Stood(short, long, damp, frozenset(conditions)))
    later = outlook(Stood(long, long, damp, frozenset(conditions)))
    for answer, after in zip(wide, later, strict=True):
        assert 0 <= answer.low <= answer.likely + 1e-12 <= answer.high + 2e-12 <= 1 + 3e-12
        assert after.low >= answer.low


def test_standing_is_reckoned_from_road_use_and_contradictions_fall_back_on_hard_evidence():
    today, found = date(2026, 11, 25), date(2026, 11, 20)
    tree = Evidence("tree", "tree_rings", found, count=11)
    test = Evidence("test", "inspection_pass", date(2010, 1, 1), answers=frozenset({"driven_there"}))
    both = spell_of(standing_time([tree, test], found, today), Event.ROAD_USE, today)
    assert both.longest_days == (today - date(2010, 1, 1)).days
    late = Evidence("late", "receipt", date(2022, 1, 1))
    hard = spell_of(standing_time([tree, late], found, today), Event.ROAD_USE, today)
    assert (round(hard.shortest_days / YEAR), hard.longest_days) == (10, None)
    paper = Evidence("paper", "paper_under_tyre", date(2022, 1, 1))
    lost = spell_of(standing_time([tree, paper, late], found, today), Event.ROAD_USE, today)
    assert lost.longest_days is None
