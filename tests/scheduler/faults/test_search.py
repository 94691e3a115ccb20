"""The search for a fault: what results make of the causes, which test next, and that it ends honestly."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.faults.diagnosis import Progress, diagnose
from scheduler.faults.model import OTHER, Cause, Outcome, Probe, Tree, for_volts
from scheduler.faults.search import FOUND_FROM, bits, entropy_bits
from scheduler.faults.table import TREES
from scheduler.recommission.stages.acts import ALL_ACTS, Act
from scheduler.vocabulary.errors import BadInput
from tests.bench.bench_faults import WAYS, figures
from tests.scheduler.worlds.faulty_cars import WORLDS
from tests.scheduler.worlds.least_minutes import efforts, small_tree

SYMPTOMS = list(TREES)
IN_CI = 80  # faults a tree


def chances(symptom, *readings):
    tree = TREES[symptom]
    by_cause = {cause.key: 0.0 for cause in tree.causes}
    rows = np.log(tree.prior)
    for test, outcome in readings:
        keys = [one.key for one in tree.probe(test).outcomes]
        rows = rows + np.log(tree.table[tree.place[test], keys.index(outcome)])
    weight = np.exp(rows) / np.exp(rows).sum()
    diagnosis = diagnose(tree, readings)
    for suspect in diagnosis.suspects:
        assert suspect.chance == pytest.approx(weight[[c.key for c in tree.causes].index(suspect.cause)])
        by_cause[suspect.cause] = suspect.chance
    return by_cause


def test_entropy_and_bits_of_plain_and_noisy_tests():
    fair = np.full((1, 4), 0.25)
    assert entropy_bits(fair) == pytest.approx(2.0)
    assert bits(np.array([[[1.0, 1, 0, 0], [0, 0, 1, 1]]]), fair)[0, 0] == pytest.approx(1.0)
    assert bits(np.array([[[0.5] * 4, [0.5] * 4]]), fair)[0, 0] == pytest.approx(0.0)
    noisy = np.array([[[0.9, 0.1], [0.1, 0.9]]])
    expected = 1 + 0.9 * np.log2(0.9) + 0.1 * np.log2(0.1)
    assert bits(noisy, np.full((1, 2), 0.5))[0, 0] == pytest.approx(expected)


@pytest.mark.parametrize(
    ("symptom", "readings", "cause", "chance"),
    [
        ("cranks-not", (("rest_volts", "good"), ("load", "fails")), "bad", 0.76),
        (
            "cranks-not",
            (("rest_volts", "good"), ("load", "holds"), ("lamps", "bright"), ("drops", "strap")),
            "earth",
            0.88,
        ),
        ("cranks-no-spark", (("points_ohm", "low"), ("coil_minus", "stays_low")), "feed", 0.39),
        (
            "cranks-no-spark",
            (("points_ohm", "low"), ("coil_minus", "stays_low"), ("points_look", "no_gap")),
            "closed",
            0.94,
        ),
        ("cranks-no-spark", (("coil_minus", "stays_low"), ("points_open", "clears")), "shorted", 0.81),
        (
            "cranks-no-spark",
            (("jumped", "none"), ("coil_feed", "volts"), ("coil_ohm", "right")),
            "insulation",
            0.38,
        ),
        ("spark-no-fuel", (("squirt", "none"),), "pump", 0.20),
        ("spark-no-fuel", (("outlet", "flows"), ("inlet_carburettor", "none")), "after", 0.40),
        ("fuel-and-spark-no-start", (("jar", "water"),), "water", 0.62),
        ("fuel-and-spark-no-start", (("plugs_wet", "wet"), ("jar", "clean")), "flooded", 0.38),
        ("starts-then-dies", (("bowl", "dry"), ("auxiliary", "runs")), "supply", 0.98),
        ("overheats", (("top_hose", "cold"),), "thermostat", 0.59),
        ("no-charge-dynamo", (("alone", "none"), ("linked", "none")), "residual", 0.55),
        (
            "no-charge-dynamo",
            (("alone", "none"), ("linked", "none"), ("brush_look", "good")),
            "residual",
            0.80,
        ),
    ],
)
def test_chances_are_those_worked_by_hand_from_the_tables(symptom, readings, cause, chance):
    assert chances(symptom, *readings)[cause] == pytest.approx(chance, abs=0.015)


def test_near_nought_ohms_clear_neither_a_closed_up_gap_nor_a_short():
    diagnosis = chances("cranks-no-spark", ("points_ohm", "low"))
    before = {cause.key: cause.prior for cause in TREES["cranks-no-spark"].causes}
    assert all(diagnosis[key] > before[key] for key in ("closed", "shorted", "earthed"))


@pytest.mark.parametrize("symptom", SYMPTOMS)
def test_every_table_allows_for_misreading_and_every_pair_of_causes_can_be_told_apart(symptom):
    tree = TREES[symptom]
    for probe, table in zip(tree.probes, tree.table, strict=True):
        own = table[: len(probe.outcomes)]
        np.testing.assert_allclose(own.sum(axis=0), 1.0)
        assert own.min() > 0.002
        assert own.max() <= 0.985
    for first, second in combinations(range(len(tree.causes)), 2):
        assert any(np.abs(row[:, first] - row[:, second]).max() > 0.3 for row in tree.table)
    assert tree.prior.sum() == pytest.approx(1.0)
    assert sum(cause.prior for cause in tree.causes) == pytest.approx(1.0, abs=0.021)
    assert {cause.key for cause in tree.causes} - {p.confirms for p in tree.probes} == {OTHER}
    assert set(tree.place) - {p.key for p in tree.probes if p.confirms} == {
        p.key for p in tree.probes if not p.confirms
    }
    assert tree.call
    assert tree.source.text


@pytest.mark.parametrize("symptom", SYMPTOMS)
def test_tests_near_petrol_lifting_or_turning_carry_their_caution(symptom):
    for probe in TREES[symptom].probes:
        assert probe.acts == {Act.LOOK} or probe.caution
        fuel = any(word in probe.do.lower() for word in ("bowl", "tank", "filler cap", "auxiliary"))
        assert not fuel or "vapour" in probe.caution or "iesel" in probe.caution, probe.do


def test_a_cause_is_found_only_after_its_own_confirming_test():
    tree = TREES["cranks-no-spark"]
    readings = [("points_ohm", "high"), ("coil_minus", "stays_high"), ("points_look", "dirty")]
    nearly = diagnose(tree, readings)
    assert nearly.progress is Progress.SEARCHING
    assert nearly.proposals[0].test == "confirm_points"
    diagnosis = diagnose(tree, [*readings, ("confirm_points", "yes")])
    assert diagnosis.progress is Progress.FOUND
    assert diagnosis.suspects[0].cause == "points"
    assert diagnosis.suspects[0].chance >= FOUND_FROM


def test_a_result_that_contradicts_the_rest_is_said_and_taken_again_first():
    tree = TREES["cranks-no-spark"]
    readings = [
        ("points_ohm", "high"),
        ("coil_minus", "stays_high"),
        ("flicked", "spark"),
        ("coil_feed", "none"),
    ]
    diagnosis = diagnose(tree, [*readings, ("points_look", "dirty"), ("confirm_points", "yes")])
    assert "coil_feed" in diagnosis.contradicts
    assert diagnosis.proposals[0].repeat
    assert diagnosis.progress is Progress.SEARCHING


def test_the_same_result_twice_adds_little_and_another_one_counts_in_full():
    tree = TREES["cranks-no-spark"]
    once, same = (diagnose(tree, [("coil_feed", "none")] * n).suspects[0].chance for n in (1, 2))
    other = next(
        one.chance
        for one in diagnose(tree, [("coil_feed", "none"), ("coil_feed", "volts")]).suspects
        if one.cause == "feed"
    )
    assert once < same < 1 - (1 - once) ** 2
    assert other == pytest.approx(0.13 * 0.94 * 0.06 / (0.13 * 0.94 * 0.06 + 0.87 * 0.03 * 0.97), abs=0.01)


def test_could_not_do_tells_nothing_and_is_not_proposed_again():
    tree = TREES["overheats"]
    first = diagnose(tree, [])
    without = diagnose(tree, [(first.proposals[0].test, None)])
    assert without.suspects == first.suspects
    assert first.proposals[0].test not in [one.test for one in without.proposals]


def test_with_every_test_impossible_it_is_open_and_names_two_causes_what_settles_it_and_whom_to_call():
    tree = TREES["overheats"]
    diagnosis = diagnose(tree, [(probe.key, None) for probe in tree.probes])
    assert diagnosis.progress is Progress.OPEN
    assert [one.cause for one in diagnosis.suspects] == ["silt", "thermostat", OTHER]
    assert diagnosis.settles
    assert "engine builder" in diagnosis.call


def test_tests_that_the_permissions_do_not_allow_are_barred_and_named():
    tree = TREES["runs-then-dies"]
    diagnosis = diagnose(tree, [], frozenset({Act.LOOK}))
    assert {act for one in diagnosis.proposals for act in one.acts} == {Act.LOOK}
    assert "spark_dead" in [one.test for one in diagnosis.barred]
    done = [(probe.key, None) for probe in tree.probes if probe.acts == {Act.LOOK}]
    assert diagnose(tree, done, frozenset({Act.LOOK})).progress is Progress.WAITS


def test_no_test_of_a_missing_spark_needs_the_starter_or_a_running_engine():
    for probe in TREES["cranks-no-spark"].probes:
        assert not probe.acts & {Act.CRANK, Act.RUN}


def test_values_in_words_follow_the_volts_of_the_car():
    assert for_volts("below {6.2|12.4|24.8} V", 24) == "below 24.8 V"
    assert for_volts("below {6.2|12.4|24.8} V", None) == "below 6.2, 12.4 or 24.8 V"
    six, none = (
        diagnose(TREES["cranks-not"], [], ALL_ACTS, volts).proposals[0].reason for volts in (6, None)
    )
    assert "Below 6.2 V" in six
    assert "12.4 or 24.8" in none


def test_of_two_equal_tests_the_quicker_and_the_safer_comes_first():
    outcomes = (Outcome("yes", "yes", "a .9 * .05"), Outcome("no", "no"))
    probes = (
        Probe("slow", "", 20, outcomes),
        Probe("risky", "", 5, outcomes, frozenset({Act.RUN})),
        Probe("quick", "", 5, outcomes),
    )
    causes = (Cause("a", "a", 0.5), Cause("b", "b", 0.5))
    diagnosis = diagnose(Tree("s", "S", causes, probes, TREES["overheats"].source), [])
    assert [one.test for one in diagnosis.proposals] == ["quick", "slow", "risky"]


@pytest.mark.parametrize(
    ("readings", "argument"),
    [([("tea", "hot")], "test"), ([("tea", None)], "test"), ([("level", "purple")], "answer")],
)
def test_an_unknown_test_or_answer_is_refused_with_the_choices(readings, argument):
    with pytest.raises(BadInput) as caught:
        diagnose(TREES["overheats"], readings)
    assert caught.value.argument == argument


@pytest.mark.parametrize("chances", ["a .99 * .05", "stranger .5"])
def test_a_table_that_cannot_be_is_refused(chances):
    probe = Probe("p", "", 1, (Outcome("y", "y", chances), Outcome("n", "n")))
    with pytest.raises(BadInput):
        _ = Tree("s", "S", (Cause("a", "a", 1),), (probe,), TREES["overheats"].source).table


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(SYMPTOMS), st.integers(0, 2**31), st.randoms(use_true_random=False))
def test_the_order_of_single_readings_never_changes_the_answer(symptom, seed, shuffler):
    tree, random = TREES[symptom], np.random.default_rng(seed)
    readings = [(probe.key, str(random.choice([one.key for one in probe.outcomes]))) for probe in tree.probes]
    kept = shuffler.sample(readings, shuffler.randint(1, len(readings)))
    diagnosis, again = diagnose(tree, kept), diagnose(tree, shuffler.sample(kept, len(kept)))
    assert diagnosis.progress is again.progress
    assert {one.cause: round(one.chance, 9) for one in diagnosis.suspects} == {
        one.cause: round(one.chance, 9) for one in again.suspects
    }


@settings(max_examples=25, deadline=None)
@given(st.sampled_from(SYMPTOMS), st.integers(0, 2**31), st.sets(st.sampled_from(list(Act))))
def test_whatever_is_answered_and_allowed_there_is_a_next_test_or_an_end_with_its_words(symptom, seed, acts):
    tree, random = TREES[symptom], np.random.default_rng(seed)
    allowed, readings = frozenset({Act.LOOK, *acts}), []
    for _ in range(3 * len(tree.probes) + 1):
        diagnosis = diagnose(tree, readings, allowed)
        if diagnosis.progress is not Progress.SEARCHING:
            break
        probe = tree.probe(diagnosis.proposals[0].test)
        assert probe.acts <= allowed
        choices = [None, *(one.key for one in probe.outcomes)]
        readings.append((probe.key, choices[int(random.integers(len(choices)))]))
    assert diagnosis.progress is not Progress.SEARCHING
    assert diagnosis.suspects
    assert diagnosis.call
    assert diagnosis.settles or diagnosis.progress in (Progress.FOUND, Progress.NOT_LISTED)


def test_the_world_apart_shows_a_result_of_every_test():
    assert set(WORLDS) == set(TREES)


def test_random_faults_end_at_their_cause_or_honestly_open():
    for way, least_right, most_wrong in (
        ("usual results", 0.97, 0.005),
        ("tables", 0.80, 0.02),
        ("tables, 5 % more misread", 0.75, 0.05),
        ("world apart", 0.80, 0.05),
    ):
        results = [figures(t, WAYS[way](t, IN_CI, np.random.default_rng(7))) for t in TREES.values()]
        assert np.mean([one.right for one in results]) >= least_right, way
        assert np.mean([one.wrong for one in results]) <= most_wrong, way
        assert max(one.dead for one in results) == 0
        opened = sum(one.left_open for one in results)
        assert sum(one.left_open * one.among_two for one in results) >= 0.96 * opened, way


def test_effort_stays_near_the_least_that_any_order_reaches_on_small_trees():
    results = [efforts(small_tree(np.random.default_rng(seed))) for seed in range(8)]
    assert all(one.taken >= one.least for one in results)
    assert np.mean([one.taken / one.least for one in results]) <= 1.3
