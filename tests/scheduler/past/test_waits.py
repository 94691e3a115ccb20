"""What came of a duty over days gone by: the arrays against counting one day after the other."""

import doctest
from importlib import import_module

import numpy as np
import pytest

from scheduler.past import ENDINGS, Days, count, waits_of
from scheduler.vocabulary.errors import BadInput

N, MORNINGS = 30, 60


@pytest.fixture(params=range(5))
def days(request):
    """Windows that come and go at random, with holds, silence, care, moves and visits."""
    random = np.random.default_rng(request.param)
    day = 700_000.0 + np.append(np.arange(MORNINGS), MORNINGS - 1)
    shape = (N, MORNINGS + 1)
    spells = np.repeat(random.integers(-6, 4, (N, MORNINGS // 4 + 1)), 4, axis=1)[:, : MORNINGS + 1]
    due = day + spells
    due = np.where(random.random(shape) < 0.1, np.nan, due + random.random(shape))
    return Days(
        day,
        due,
        np.where(random.random(shape) < 0.2, np.nan, due + random.integers(0, 4, shape)),
        random.random(shape) < 0.1,
        np.sort(random.random(shape) < 0.9, axis=1),
        random.random((N, MORNINGS)) < 0.1,
        random.random(MORNINGS) < 0.05,
        random.random(MORNINGS) < 0.3,
    )


def state(days, row, at):
    if not days.known[row, at]:
        return "unknown"
    if np.isnan(days.due[row, at]) or int(days.due[row, at]) > days.day[at]:
        return "quiet"
    if days.held[row, at]:
        return "held"
    late = days.late[row, at]
    return "late" if not np.isnan(late) and int(late) < days.day[at] else "asked"


def ending(days, row, at):
    """What ends a wait on a day; empty where it goes on."""
    if days.cared[row, at]:
        return "care"
    if state(days, row, at + 1) in ("asked", "late"):
        return "open" if at == MORNINGS - 1 else ""
    if days.held[row, at + 1]:
        return "hold"
    return "move" if days.moved[at] else "other care" if days.visited[at] else "passed"


def one_by_one(days, row):
    """(first day, days beyond, last day, ending) of each wait, and the other numbers of one duty."""
    waits, now, held, unknown = [], None, 0, 0
    for at in range(MORNINGS):
        here = state(days, row, at)
        held, unknown = held + (here == "held"), unknown + (here == "unknown")
        if here in ("asked", "late"):
            now = now or [days.day[at], 0]
            now[1] += here == "late"
            if end := ending(days, row, at):
                waits.append((*now, days.day[at], end))
                now = None
    return waits, held, unknown


def test_waits_and_numbers_are_those_of_counting_one_day_after_the_other(days):
    waits = waits_of(days)
    counts = count(days, waits)
    for row in range(N):
        mine = [
            (waits.since[at], waits.beyond_days[at], waits.until[at], ENDINGS[waits.ending[at]])
            for at in np.flatnonzero(waits.duty == row)
        ]
        slow, held, unknown = one_by_one(days, row)
        assert mine == slow
        assert counts.asked[row] == len(slow)
        assert counts.beyond_days[row] == sum(wait[1] for wait in slow)
        assert counts.longest_days[row] == max((wait[1] for wait in slow), default=0)
        assert counts.late[row] == sum(wait[1] > 0 for wait in slow)
        assert counts.in_window[row] == sum(wait[1] == 0 and wait[3] == "care" for wait in slow)
        assert counts.open_days[row] == sum(wait[1] for wait in slow if wait[3] == "open")
        assert (counts.held_days[row], counts.unknown_days[row]) == (held, unknown)
        assert counts.ended[row].sum() == len(slow)


def test_the_first_day_beyond_the_window_is_named_only_where_it_was_left(days):
    waits = waits_of(days)
    left = waits.beyond_days > 0
    assert np.isnan(waits.beyond_since[~left]).all()
    assert (waits.since[left] <= waits.beyond_since[left]).all()
    assert (waits.beyond_since[left] <= waits.until[left]).all()


def test_a_column_of_another_length_is_refused_by_name(days):
    columns = vars(days) | {"moved": np.zeros(3, bool)}
    with pytest.raises(BadInput, match="moved"):
        Days(**columns)


@pytest.mark.parametrize("name", ["waits", "count"])
def test_the_examples_hold(name):
    counts = doctest.testmod(import_module(f"scheduler.past.{name}"))
    assert counts.attempted
    assert not counts.failed
