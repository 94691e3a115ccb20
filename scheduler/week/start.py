"""A good plan at once, task by task to its cheapest bucket: the solver's start, and its stand-in."""

from dataclasses import dataclass

import numpy as np

from scheduler.week.model import Floats, Layout
from scheduler.week.order import Orders
from scheduler.week.problem import Bools, Ints
from scheduler.week.view import NEVER, View
from scheduler.week.work import BEFORE_WARMING, MOVING
from scheduler.week.worth import NOWHERE


@dataclass(frozen=True)
class Ledger:
    """What is used so far, by bucket: group hours (g, b), equipment, cars rolled and opened (m, b)."""

    hours: Ints
    minutes: tuple[Ints, ...]
    turns: tuple[Ints, ...]
    load: Ints
    rolled: Bools
    opened: Bools
    walked: Bools


def construct(view: View) -> Ints:
    """The bucket of each chosen task (k,) (NOWHERE: none), keeping every row of the programme."""
    place_of = np.full(len(view.problem.tasks), NOWHERE, dtype=np.int64)
    ledger, orders = empty(view), Orders(view.problem)
    for i in _turn(view):
        t = int(view.chosen[i])
        prices = np.where(orders.allows(t, place_of, view.span), _prices(view, ledger, i), NEVER)
        b = int(prices.argmin())
        if prices[b] < view.problem.unplaced_cost[t]:
            place_of[t] = b
            enter(view, ledger, i, b)
    return place_of[view.chosen]


def _turn(view: View) -> list[int]:
    """Pinned first, then what stood in the last plan, then the most pressing; what follows others last."""
    problem, tasks = view.problem, view.problem.tasks
    previous = problem.request.previous

    def key(i: int) -> tuple[bool, bool, bool, bool, int, bool, int]:
        t = int(view.chosen[i])
        task = tasks[t]
        fresh, follows = task.key not in previous, t in problem.warm
        return (
            task.pinned_day is None,
            fresh,
            task.duty == MOVING,
            follows,
            task.late,
            task.duty not in BEFORE_WARMING,
            -task.minutes,
        )

    return sorted(range(len(view.chosen)), key=key)


def empty(view: View) -> Ledger:
    """Nothing used yet."""
    problem, nb = view.problem, view.can.shape[1]
    cars = np.zeros((len(problem.cars), nb), dtype=np.bool_)
    return Ledger(
        np.zeros_like(view.hours.capacity),
        tuple(np.zeros(nb, dtype=np.int64) for _ in view.gear),
        tuple(np.zeros(nb, dtype=np.int64) for _ in view.gear),
        np.zeros(nb, dtype=np.int64),
        cars,
        cars.copy(),
        np.zeros((len(problem.request.buildings), nb), dtype=np.bool_),
    )


def _rolling(view: View, i: int) -> list[int]:
    t = int(view.chosen[i])
    c = int(view.problem.car[t])
    return [c, *view.problem.front[c]] if view.problem.moves[t] else []


def _prices(view: View, ledger: Ledger, i: int) -> Ints:
    """What task i would add in each bucket; NEVER where hands or equipment do not reach."""
    problem, w = view.problem, view.problem.request.weights
    t = int(view.chosen[i])
    rolling, minutes = _rolling(view, i), int(problem.minutes[t])
    fresh = ~ledger.rolled[rolling]
    roll = problem.request.move_minutes * fresh.sum(axis=0)
    asked = minutes * view.hours.bound[i][:, None] + roll * view.hours.bound_moves[:, None]
    full = (ledger.hours + asked > view.hours.capacity).any(axis=0)
    for gear, used, turns in zip(view.gear, ledger.minutes, ledger.turns, strict=True):
        if gear.uses[i]:
            full |= (used + gear.taken[i] > gear.minutes) | (turns + 1 > gear.turns)
    touched = rolling or [int(problem.car[t])]
    opened = (~ledger.opened[touched]).sum(axis=0)
    houses = np.unique(problem.building[touched])
    load = ledger.load + minutes + roll
    slopes = np.array([slope for _, slope in w.level], dtype=np.int64)
    beyond = slopes @ (np.maximum(load - view.room, 0) - np.maximum(ledger.load - view.room, 0))
    price = view.cost[i] + w.visit * opened + w.move * fresh.sum(axis=0)
    price = price + w.building * (~(ledger.walked | view.paid)[houses]).sum(axis=0) + beyond
    return np.where(full, NEVER, price)


def enter(view: View, ledger: Ledger, i: int, b: int) -> None:
    """Write down what task ``i`` (position in the view) uses in bucket ``b``."""
    problem, t = view.problem, int(view.chosen[i])
    rolling, minutes = _rolling(view, i), int(problem.minutes[t])
    roll = problem.request.move_minutes * int((~ledger.rolled[rolling, b]).sum())
    ledger.hours[:, b] += minutes * view.hours.bound[i] + roll * view.hours.bound_moves
    ledger.load[b] += minutes + roll
    for gear, used, turns in zip(view.gear, ledger.minutes, ledger.turns, strict=True):
        used[b] += gear.taken[i, b]
        turns[b] += int(gear.uses[i])
    touched = rolling or [int(problem.car[t])]
    ledger.rolled[rolling, b] = True
    ledger.opened[touched, b] = True
    ledger.walked[problem.building[touched], b] = True


def entered(view: View, bucket_of: Ints, of: Ints) -> Ledger:
    """What the tasks ``of`` (positions in the view, (m,)) use where they are: ``bucket_of`` (k,)."""
    ledger = empty(view)
    for i in of[bucket_of[of] != NOWHERE]:
        enter(view, ledger, int(i), int(bucket_of[i]))
    return ledger


def columns(view: View, layout: Layout, bucket_of: Ints) -> Floats:
    """The programme's columns (columns,) for a choice of buckets (k,)."""
    x = np.zeros(layout.columns)
    ledger = entered(view, bucket_of, np.arange(len(bucket_of)))
    for i in np.flatnonzero(bucket_of != NOWHERE):
        x[layout.put[i, bucket_of[i]]] = 1.0
    for used, numbers in (
        (ledger.opened, layout.opened),
        (ledger.rolled, layout.rolled),
        (ledger.walked, layout.walked),
    ):
        x[numbers[used]] = 1.0
    x[layout.beyond] = np.maximum(ledger.load - view.room, 0)
    return x


def chosen_buckets(layout: Layout, x: Floats) -> Ints:
    """The bucket of each task (k,) that columns ``x`` (columns,) say (NOWHERE: none)."""
    picked = np.where(layout.put >= 0, x[np.maximum(layout.put, 0)], 0.0) > 0.5
    return np.where(picked.any(axis=1), picked.argmax(axis=1), NOWHERE)
