"""A car's own rate: the stated rule, a guard against the absurd reading, intervals that hold."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.duties.learning import NINETY_PERCENT_SD, update_rate
from scheduler.vocabulary.errors import BadInput


def learn(elapsed, change, noise=0.1, prior=(1.0, 0.5), row=None, n=1):
    elapsed, change = np.asarray(elapsed, float), np.asarray(change, float)
    row = np.zeros(elapsed.size, np.int64) if row is None else np.asarray(row)
    return update_rate(
        np.full(n, prior[0]), np.full(n, prior[1]), elapsed, change, np.full(elapsed.size, noise), row, n
    )


def test_a_car_without_readings_keeps_the_table():
    mean, sd, used = learn([], [])
    assert (mean[0], sd[0], used.size) == (1.0, 0.5, 0)


def test_the_rule_is_least_squares_with_the_table_as_one_more_observation():
    elapsed, change, noise = np.array([1.0, 2.0, 3.0]), np.array([1.3, 2.5, 4.1]), 0.2
    design = np.concatenate([elapsed / noise, [1 / 0.5]])
    target = np.concatenate([change / noise, [1.0 / 0.5]])
    slope = np.linalg.lstsq(design[:, None], target, rcond=None)[0][0]
    mean, sd, _ = learn(elapsed, change, noise)
    assert mean[0] == pytest.approx(slope)
    assert sd[0] == pytest.approx((design @ design) ** -0.5)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.floats(0.01, 5), st.floats(-0.2, 0.2)), min_size=1, max_size=8))
def test_each_reading_that_counts_narrows_and_never_widens(readings):
    elapsed, slip = np.array(readings).T
    _, narrower, used = learn(elapsed, elapsed + slip)
    assert narrower[0] < 0.5
    _, wider, _ = learn(elapsed[used][:-1], (elapsed + slip)[used][:-1])
    assert narrower[0] <= wider[0] + 1e-12


@pytest.mark.parametrize("absurd", [-50.0, 30.0, 1e6])
@pytest.mark.parametrize("among", [0, 1, 5])
def test_one_absurd_reading_moves_nothing(absurd, among):
    elapsed = np.linspace(0.5, 1.5, among)
    plain_mean, plain_sd, _ = learn(elapsed, 1.2 * elapsed)
    mean, sd, used = learn(np.append(elapsed, 1.0), np.append(1.2 * elapsed, absurd))
    assert mean[0] == pytest.approx(plain_mean[0])
    assert sd[0] == pytest.approx(plain_sd[0])
    assert used.tolist() == [True] * among + [False]


def test_readings_that_agree_overrule_the_table():
    elapsed = np.arange(1.0, 7.0)
    mean, _, used = learn(elapsed, 3.0 * elapsed, noise=0.1, prior=(1.0, 0.3))
    assert mean[0] == pytest.approx(3.0, abs=0.05)
    assert used.sum() >= 3


def test_a_fleet_learns_as_each_car_alone():
    rng = np.random.default_rng(3)
    row = rng.integers(0, 20, 90)
    elapsed = rng.uniform(0.2, 2, 90)
    change = elapsed * rng.normal(1, 0.4, 20)[row] + rng.normal(0, 0.1, 90)
    change[::11] += 9.0
    mean, sd, used = learn(elapsed, change, row=row, n=20)
    for car in range(20):
        own = row == car
        alone = learn(elapsed[own], change[own])
        assert (mean[car], sd[car]) == pytest.approx((alone[0][0], alone[1][0]))
        assert used[own].tolist() == alone[2].tolist()


def test_ninety_percent_intervals_hold_the_truth_of_a_thousand_cars():
    rng = np.random.default_rng(11)
    truth = rng.normal(0.10, 0.03, 1000)  # a loss per day, as of a tyre's pressure
    row = np.repeat(np.arange(1000), 4)
    elapsed = rng.uniform(5, 40, row.size)
    change = truth[row] * elapsed + rng.normal(0, 0.5, row.size)
    mean, sd, _ = learn(elapsed, change, 0.5, (0.10, 0.03), row, 1000)
    assert 0.85 <= (np.abs(mean - truth) <= NINETY_PERCENT_SD * sd).mean() <= 0.95


@pytest.mark.parametrize(
    ("changes", "named"),
    [
        ({"prior": (1.0, 0.0)}, "prior_sd"),
        ({"noise": 0.0}, "noise_sd"),
        ({"row": [5]}, "row"),
        ({"change": [np.nan]}, "observed_change"),
        ({"change": [1.0, 2.0]}, "observed_change"),
    ],
)
def test_a_wrong_argument_is_named(changes, named):
    with pytest.raises(BadInput, match=f"^{named}"):
        learn(**{"elapsed": [1.0], "change": [1.0], **changes})
