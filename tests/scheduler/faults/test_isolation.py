"""Fault isolation: what each result excludes, which test comes next, and that it ends at the right cause."""

from itertools import combinations
from math import log2

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.faults.isolation import Progress, diagnose, effort_minutes, entropy_bits, gain_bits
from scheduler.faults.model import Cause, Danger, Outcome, Probe, Tree
from scheduler.faults.table import TREES
from scheduler.recommission.tags import Permission
from scheduler.vocabulary.errors import BadInput

SYMPTOMS = list(TREES)
FAULTS = 1000


def leaders(diagnosis):
    return [suspect.cause for suspect in diagnosis.suspects]


def test_a_fair_coin_over_four_causes_is_worth_one_bit():
    chances = np.full(4, 0.25)
    assert entropy_bits(chances) == pytest.approx(2.0)
    assert gain_bits(np.array([[1.0, 1, 0, 0], [0, 0, 1, 1]]), chances) == pytest.approx(1.0)
    assert gain_bits(np.array([[0.5] * 4, [0.5] * 4]), chances) == pytest.approx(0.0)


def test_a_noisy_test_is_worth_what_the_noisy_channel_carries():
    table = np.array([[0.9, 0.1], [0.1, 0.9]])
    expected = 1 + 0.9 * log2(0.9) + 0.1 * log2(0.1)
    assert gain_bits(table, np.array([0.5, 0.5])) == pytest.approx(expected)


def test_runs_on_auxiliary_only_is_led_to_the_pickup():
    tree = TREES["runs-on-auxiliary-only"]
    answers = {"pump_auxiliary": "passes", "cap_loose": "same", "inlet_vacuum": "high"}
    assert leaders(diagnose(tree, answers)) == ["pickup", "line"]
    found = diagnose(tree, answers | {"sections": "good"})
    assert found.progress is Progress.FOUND
    assert leaders(found) == ["pickup"]
    assert "blown clear is not a cure" in found.suspects[0].remedy


def test_a_locked_engine_leaves_rust_or_liquid_and_asks_for_the_plugs_out():
    diagnosis = diagnose(TREES["cranks-not"], {"hand_turn": "locked"})
    assert leaders(diagnosis) == ["seized", "liquid"]
    assert [proposal.test for proposal in diagnosis.proposals] == ["plugs_out"]


def test_high_ohms_at_the_points_end_the_search_for_the_spark():
    diagnosis = diagnose(TREES["cranks-no-spark"], {"points_ohm": "high"})
    assert (diagnosis.progress, leaders(diagnosis)) == (Progress.FOUND, ["points"])
    assert ("points_ohm",) in {gone.by for gone in diagnosis.ruled_out}


def test_a_sinking_pedal_is_master_or_leak_and_wet_tells_them_apart():
    diagnosis = diagnose(TREES["soft-pedal"], {"hold": "sinks"})
    assert leaders(diagnosis) == ["master", "leak"]
    assert [proposal.test for proposal in diagnosis.proposals] == ["look_wet"]
    assert "licensed" in diagnosis.caution


def test_could_not_do_is_not_proposed_again_and_excludes_nothing():
    tree = TREES["overheats"]
    first = diagnose(tree, {})
    without = diagnose(tree, {first.proposals[0].test: None})
    assert leaders(without) == leaders(first)
    assert first.proposals[0].test not in [proposal.test for proposal in without.proposals]


def test_with_every_test_impossible_it_says_that_it_is_stuck_and_keeps_the_ranking():
    tree = TREES["overheats"]
    diagnosis = diagnose(tree, {probe.key: None for probe in tree.probes})
    assert diagnosis.progress is Progress.STUCK
    assert leaders(diagnosis)[0] == "silt"


def test_results_that_exclude_every_cause_are_named_and_never_explained_away():
    diagnosis = diagnose(TREES["cranks-no-spark"], {"points_ohm": "high", "coil_ohm": "wrong"})
    assert diagnosis.progress is Progress.CONTRADICTION
    assert diagnosis.suspects == ()
    assert diagnosis.doubtful == ("coil_ohm", "points_ohm")


def test_tests_that_the_car_may_not_do_yet_are_barred():
    diagnosis = diagnose(TREES["runs-then-dies"], {}, frozenset({Permission.CRANK}))
    assert [proposal.test for proposal in diagnosis.proposals] == ["jar"]
    assert "spark_dead" in diagnosis.barred


def test_of_two_equal_tests_the_quicker_and_the_safer_comes_first():
    outcomes = (Outcome("yes", "yes", "a"), Outcome("no", "no", "*"))
    probes = (
        Probe("slow", "", 20, Danger.NONE, outcomes),
        Probe("risky", "", 5, Danger.HIGH, outcomes),
        Probe("quick", "", 5, Danger.NONE, outcomes),
    )
    causes = (Cause("a", "a", 1, ""), Cause("b", "b", 1, ""))
    diagnosis = diagnose(Tree("s", "S", causes, probes, TREES["overheats"].source), {})
    assert [proposal.test for proposal in diagnosis.proposals] == ["quick", "slow", "risky"]
    assert "1.00 bits" in diagnosis.proposals[0].reason


@pytest.mark.parametrize(
    ("answers", "argument"),
    [({"tea": "hot"}, "test"), ({"tea": None}, "test"), ({"level": "purple"}, "answer")],
)
def test_an_unknown_test_or_answer_is_refused_with_the_choices(answers, argument):
    with pytest.raises(BadInput) as caught:
        diagnose(TREES["overheats"], answers)
    assert caught.value.argument == argument


def test_a_table_whose_likelihoods_exceed_one_is_refused():
    probe = Probe("p", "", 1, Danger.NONE, (Outcome("y", "y", "a"), Outcome("n", "n", "a:0.2 *")))
    with pytest.raises(BadInput, match="exceed 1"):
        Tree("s", "S", (Cause("a", "a", 1, ""),), (probe,), TREES["overheats"].source)


@pytest.mark.parametrize("symptom", SYMPTOMS)
def test_every_outcome_table_sums_to_one_and_every_pair_of_causes_can_be_told_apart(symptom):
    tree = TREES[symptom]
    tables = list(tree.likelihoods.values())
    for table in tables:
        np.testing.assert_allclose(table.sum(axis=0), 1.0)
    for first, second in combinations(range(len(tree.causes)), 2):
        assert any(not (table[:, first] * table[:, second]).any() for table in tables)


@pytest.mark.parametrize("symptom", SYMPTOMS)
def test_tests_near_petrol_lifting_or_running_carry_their_caution(symptom):
    for probe in TREES[symptom].probes:
        if probe.needs is not None or probe.danger >= Danger.SOME:
            assert probe.caution


def outcome_of(tree, probe, cause, random):
    chances = tree.likelihoods[probe][:, cause]
    return tree.probe(probe).outcomes[int(random.choice(len(chances), p=chances))].key


def search(tree, results, following=None):
    """Tests done and minutes spent until the cause is found: by proposal, or by a fixed list."""
    answers = {}
    for key in following or [probe.key for probe in tree.probes]:
        diagnosis = diagnose(tree, answers)
        if diagnosis.progress is not Progress.OPEN:
            break
        chosen = key if following else diagnosis.proposals[0].test
        answers[chosen] = results[chosen]
    minutes = sum(effort_minutes(tree.probe(key)) for key in answers)
    return diagnose(tree, answers), len(answers), minutes


@pytest.mark.parametrize("as_weighted", [True, False], ids=["as weighted", "all causes alike"])
def test_a_thousand_random_faults_end_at_their_cause_with_fewer_tests_and_less_effort_than_the_fixed_list(
    as_weighted,
):
    random = np.random.default_rng(1911)
    tests, effort = np.zeros((2, FAULTS)), np.zeros((2, FAULTS))
    for i in range(FAULTS):
        tree = TREES[SYMPTOMS[i % len(SYMPTOMS)]]
        cause = int(random.choice(len(tree.causes), p=tree.weights if as_weighted else None))
        results = {probe.key: outcome_of(tree, probe.key, cause, random) for probe in tree.probes}
        for way, following in enumerate((None, [probe.key for probe in tree.probes])):
            found, tests[way, i], effort[way, i] = search(tree, results, following)
            assert found.progress is Progress.FOUND
            assert leaders(found) == [tree.causes[cause].key]
    assert tests[0].mean() < tests[1].mean()
    assert effort[0].mean() < effort[1].mean()


@settings(max_examples=80, deadline=None)
@given(st.sampled_from(SYMPTOMS), st.integers(0, 2**31), st.randoms(use_true_random=False))
def test_the_order_of_tests_never_changes_the_answer_and_more_results_never_add_a_suspect(
    symptom, seed, shuffler
):
    tree, random = TREES[symptom], np.random.default_rng(seed)
    cause = int(random.choice(len(tree.causes), p=tree.weights))
    answers = {probe.key: outcome_of(tree, probe.key, cause, random) for probe in tree.probes}
    kept = dict(shuffler.sample(list(answers.items()), shuffler.randint(1, len(answers))))
    shuffled = dict(shuffler.sample(list(kept.items()), len(kept)))
    assert diagnose(tree, shuffled) == diagnose(tree, kept)
    fewer = dict(list(kept.items())[:-1])
    assert set(leaders(diagnose(tree, kept))) <= set(leaders(diagnose(tree, fewer)))
    assert tree.causes[cause].key in leaders(diagnose(tree, kept))
