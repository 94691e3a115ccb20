"""Finding the day: exact on straight lines, equal to walking day by day, never before its start."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scheduler.duties.crossings import first_reach, total_at
from scheduler.vocabulary.errors import BadInput

ONE = np.zeros(1, np.int64)


def reach(cumulative, start, slope, amount, first=0.0, place=ONE):
    columns = (np.atleast_1d(np.asarray(x, float)) for x in (start, slope, amount))
    return first_reach(np.atleast_2d(cumulative), place, first, *columns)


def walked(daily, start, slope, amount):
    """The same by walking in hundredths of a day: slow and plain."""
    step, total = round(start * 100), 0.0
    while step < len(daily) * 100:
        total += (daily[step // 100] + slope) / 100
        step += 1
        if total >= amount:
            return step / 100
    return np.nan


def walked_totals(daily, start, slope):
    """What the walk has gathered after each of its steps."""
    return np.cumsum(
        [(daily[step // 100] + slope) / 100 for step in range(round(start * 100), len(daily) * 100)]
    )


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.floats(0, 1), min_size=5, max_size=40),
    st.integers(0, 300),
    st.floats(0, 0.5),
    st.floats(0.01, 8),
)
def test_equals_walking_day_by_day(daily, start, slope, amount):
    start = min(start / 100, len(daily) - 1.0)
    in_all = walked_totals(daily, start, slope)
    assume(
        (np.abs(in_all - amount) > 1e-9).all()
    )  # just gathered, before a rest: reached or not by a rounding
    total = np.concatenate([[0.0], np.cumsum(daily)])
    reached = reach(total, start, slope, amount)[0]
    plain = walked(daily, start, slope, amount)
    if np.isnan(plain):  # the walk may stop a step short of an amount just reached at the end
        assert np.isnan(reached) or reached >= len(daily) - 0.02
    elif np.isnan(reached):
        assert plain >= len(daily) - 0.02
    else:
        rate = (np.array(daily) + slope)[int(max(reached - 1e-9, 0))]
        flat = np.interp(plain, np.arange(len(total)), total) - np.interp(
            reached, np.arange(len(total)), total
        )
        level = abs(flat + slope * (plain - reached - 0.01)) < 1e-6  # a rounding apart, where it hardly rises
        assert reached == pytest.approx(plain, abs=0.021) or rate < 1e-3 or level


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.floats(0, 1), min_size=5, max_size=40),
    st.floats(0, 4),
    st.floats(0.001, 0.5),
    st.floats(0.01, 8),
)
def test_the_total_on_the_found_day_is_the_amount(daily, start, slope, amount):
    total = np.concatenate([[0.0], np.cumsum(daily)])
    reached = reach(total, start, slope, amount)
    if np.isnan(reached[0]):
        assert (
            total[-1] - np.interp(start, np.arange(total.size), total) + slope * (len(daily) - start) < amount
        )
    else:
        gone = total_at(total[None], ONE, 0.0, reached) - total_at(total[None], ONE, 0.0, np.array([start]))
        assert gone[0] + slope * (reached[0] - start) == pytest.approx(amount, abs=1e-9)


def test_many_cars_at_many_places_equal_each_alone():
    rng = np.random.default_rng(7)
    total = np.concatenate([np.zeros((5, 1)), rng.random((5, 300)).cumsum(axis=1)], axis=1)
    place = rng.integers(0, 5, 200)
    start, slope, amount = rng.uniform(0, 200, 200), rng.uniform(0, 1, 200), rng.uniform(0, 150, 200)
    together = first_reach(total, place, 0.0, start, slope, amount)
    alone = [first_reach(total, place[[i]], 0.0, start[[i]], slope[[i]], amount[[i]])[0] for i in range(200)]
    assert together == pytest.approx(alone, nan_ok=True, abs=0)
    assert 0 < np.isnan(together).sum() < 200


def test_nothing_to_lose_is_reached_at_once():
    assert reach([0.0, 1.0, 2.0], 0.5, 0.0, -1.0) == 0.5


def test_beyond_the_table_is_never():
    assert np.isnan(reach([0.0, 1.0, 2.0], 0.0, 0.0, 2.1))


def test_an_unknown_start_or_amount_is_never():
    assert np.isnan(reach([0.0, 1.0, 2.0], np.nan, 0.0, 1.0))
    assert np.isnan(reach([0.0, 1.0, 2.0], 0.0, 0.0, np.nan))


def test_days_count_from_the_first_day_of_the_table():
    assert reach([0.0, 1.0, 2.0], 1000.5, 0.0, 1.0, first=1000.0) == 1001.5


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        (([0.0, 1.0, 0.5], 0.0, 0.0, 1.0), "cumulative"),
        (([0.0], 0.0, 0.0, 1.0), "cumulative"),
        (([0.0, 1.0], 0.0, -0.1, 1.0), "slope"),
        (([0.0, 1.0], 2.0, 0.0, 1.0), "start_day"),
        (([0.0, 1.0], -1.0, 0.0, 1.0), "start_day"),
    ],
)
def test_a_wrong_argument_is_named(arguments, named):
    with pytest.raises(BadInput, match=f"^{named}"):
        reach(*arguments)
