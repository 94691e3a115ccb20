"""Weeks, then days, then minutes: every task put where the solver says and the timetable agrees."""

from collections.abc import Sequence
from dataclasses import dataclass
from time import perf_counter

import numpy as np

from scheduler.week.choose import Choice, choose
from scheduler.week.means import means_of
from scheduler.week.order import Orders
from scheduler.week.problem import Bar, Bools, Ints, Problem
from scheduler.week.timetable import fits, timetable
from scheduler.week.view import view_of
from scheduler.week.worth import NOWHERE, moved

DAYS_A_WEEK = 7
EXACT_OPTIONS = 1200  # tasks × days up to which all days are solved at once
ROUNDS = 4
LEAST_SECONDS = 0.3  # for the days of one week, however slow the weeks were
FOR_WEEKS = 0.7  # share of the time for the weeks; the rest is for the days
TRIES = 15  # days tried for a task that found no time where the solver put it


@dataclass
class Placing:
    """The plan as it grows: ``day_of`` (n,) day positions, NOWHERE for none yet."""

    problem: Problem
    day_of: Ints
    bound: float
    orders: Orders

    def on(self, d: int) -> list[int]:
        """The tasks on day ``d``."""
        return [int(t) for t in np.flatnonzero(self.day_of == d)]


def placed(problem: Problem) -> Placing:
    """Every task on its day, kept to what each day's timetable can hold."""
    until = perf_counter() + problem.request.seconds
    placing = Placing(problem, np.full(len(problem.tasks), NOWHERE), 0.0, Orders(problem))
    if not len(problem.tasks):
        return placing
    can = problem.bar == Bar.OPEN
    if can.sum() <= EXACT_OPTIONS:
        _by_days(placing, can, until)
    else:
        _by_weeks(placing, can, until)
    last = problem.request.days[-1].day
    _settle(
        placing, [int(t) for t in np.flatnonzero(placing.day_of == NOWHERE) if problem.tasks[t].due <= last]
    )
    _hasten(placing)
    return placing


def _by_days(placing: Placing, can: Bools, until: float) -> None:
    """All days at once; a task for which a timetable has no time is kept off that day, and again."""
    problem, everything = placing.problem, np.arange(len(placing.problem.tasks))
    buckets = [np.array([d]) for d in range(can.shape[1])]
    for turn in range(ROUNDS):
        left = max(until - perf_counter(), 0.1)
        choice = choose(view_of(problem, everything, buckets, can), left / 2)
        if turn == 0:
            placing.bound = choice.bound
        placing.day_of = choice.bucket_of.copy()
        refused = [(t, d) for d in np.unique(placing.day_of) if d != NOWHERE for t in _keep(placing, int(d))]
        if not refused:
            return
        for t, d in refused:
            can[t, d] = False


def _by_weeks(placing: Placing, can: Bools, until: float) -> None:
    problem, everything = placing.problem, np.arange(len(placing.problem.tasks))
    weeks = [np.arange(d, min(d + DAYS_A_WEEK, can.shape[1])) for d in range(0, can.shape[1], DAYS_A_WEEK)]
    view = view_of(problem, everything, weeks, can)
    choice = choose(view, (until - perf_counter()) * FOR_WEEKS)
    placing.bound = choice.bound
    for w, days in enumerate(weeks):
        share = max((until - perf_counter()) / (len(weeks) - w), LEAST_SECONDS)
        _one_week(placing, choice, w, days, can, share)


def _one_week(placing: Placing, choice: Choice, w: int, days: Ints, can: Bools, seconds: float) -> None:
    """The days of one week, for its tasks and those that earlier weeks could not hold."""
    problem = placing.problem
    here = (choice.bucket_of <= w) & (choice.bucket_of != NOWHERE) & (placing.day_of == NOWHERE)
    chosen = np.flatnonzero(here)
    if not chosen.size:
        return
    fit = can.copy()
    for t in chosen[choice.bucket_of[chosen] < w]:
        fit[t] &= placing.orders.allows(int(t), placing.day_of, np.ones(can.shape[1], dtype=np.int64))
    buckets = [np.array([d]) for d in days]
    daily = choose(view_of(problem, chosen, buckets, fit), seconds, gap=0.002)
    placed = daily.bucket_of != NOWHERE
    placing.day_of[chosen[placed]] = days[daily.bucket_of[placed]]
    left = [t for d in days for t in _keep(placing, int(d))]
    _settle(placing, left, within=days)


def _keep(placing: Placing, d: int) -> tuple[int, ...]:
    """Take off day ``d`` what its timetable cannot hold, and say what."""
    left = timetable(placing.problem, placing.on(d), means_of(placing.problem, d)).left
    placing.day_of[list(left)] = NOWHERE
    return left


def _settle(placing: Placing, tasks: list[int], within: Ints | None = None) -> None:
    """Give each task, the most urgent first, the cheapest day whose timetable still has time."""
    problem = placing.problem
    urgent = sorted(
        tasks, key=lambda t: (problem.tasks[t].pinned_day is None, t in problem.warm, problem.tasks[t].late)
    )
    for t in urgent:
        d = day_for(placing, t, np.arange(problem.cost.shape[1]) if within is None else within)
        if d is not None:
            placing.day_of[t] = d
        elif t in problem.warm and within is None:
            _settle_warm(placing, t)


def _settle_warm(placing: Placing, t: int) -> None:
    """Warm work that found no time beside its run-up moves with it to another day."""
    problem = placing.problem
    for run_up in problem.warm[t]:
        was = int(placing.day_of[run_up])
        if problem.tasks[run_up].pinned_day is not None:
            continue
        placing.day_of[run_up] = NOWHERE
        d = day_for(placing, run_up, np.flatnonzero(problem.bar[t] == Bar.OPEN), [t])
        if d is not None and not _others_warm(placing, run_up, t, was):
            placing.day_of[[run_up, t]] = d
            return
        placing.day_of[run_up] = was


def _others_warm(placing: Placing, run_up: int, t: int, was: int) -> bool:
    """Whether other warm work stands on the run-up's day and would be left cold."""
    return any(
        run_up in run_ups and other != t and was != NOWHERE and placing.day_of[other] == was
        for other, run_ups in placing.problem.warm.items()
    )


def _hasten(placing: Placing) -> None:
    """A late task moves to a day in time if one has room after all."""
    problem = placing.problem
    first = problem.request.days[0].day
    for t in np.flatnonzero(placing.day_of != NOWHERE):
        task, now = problem.tasks[t], int(placing.day_of[t])
        if (
            first + now > task.late
            and task.pinned_day is None
            and t not in problem.warm
            and not _leads(problem, int(t))
        ):
            placing.day_of[t] = NOWHERE
            d = day_for(placing, int(t), np.arange(max(task.late - first + 1, 0)))
            placing.day_of[t] = now if d is None else d


def _leads(problem: Problem, t: int) -> bool:
    """Whether warm work hangs on this task, so that it cannot move alone."""
    return any(t in run_ups for run_ups in problem.warm.values())


def day_for(placing: Placing, t: int, days: Ints, along: Sequence[int] = ()) -> int | None:
    """The cheapest of ``days`` on which task ``t`` keeps every rule and finds time, None if none does.

    ``along``: tasks that come to the same day with it.
    """
    problem = placing.problem
    d_count = problem.cost.shape[1]
    ok = placing.orders.allows(t, placing.day_of, np.ones(d_count, dtype=np.int64)) & (
        problem.bar[t] == Bar.OPEN
    )
    days = days[ok[days]]
    visits = np.zeros(d_count, dtype=np.int64)
    visits[placing.day_of[(problem.car == problem.car[t]) & (placing.day_of != NOWHERE)]] = 1
    if problem.moves[t]:
        visits += moved(problem, placing.day_of)[problem.car[t]]
    price = problem.cost[[t, *along]].sum(axis=0) - problem.request.weights.visit * visits
    for d in days[np.argsort(price[days], kind="stable")][:TRIES]:
        if price[d] < problem.unplaced_cost[t] and fits(
            problem, [*placing.on(int(d)), t, *along], means_of(problem, int(d))
        ):
            return int(d)
    return None
