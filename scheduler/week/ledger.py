"""What a plan uses so far, day by day, and what one task more would add."""

import numpy as np

from scheduler.week.order import Orders
from scheduler.week.prices import cost_of, unplaced_cost
from scheduler.week.problem import Bar, Ints, Problem
from scheduler.week.view import NEVER, view_of
from scheduler.week.worth import NOWHERE, shift_of


class Ledger:
    """Counts by day: group hours (g, D), equipment, reasons to roll and to open each car (m, D).

    ``day_of`` (n,): where each task is; ``total``: what the plan costs, kept with every change.
    """

    def __init__(self, problem: Problem) -> None:
        n, days = problem.cost.shape
        self.problem = problem
        self.orders = Orders(problem)
        self.view = view_of(
            problem, np.arange(n), [np.array([d]) for d in range(days)], problem.bar == Bar.OPEN
        )
        self.day_of = np.full(n, NOWHERE, dtype=np.int64)
        self.hours = np.zeros_like(self.view.hours.capacity)
        self.minutes = [np.zeros(days, dtype=np.int64) for _ in self.view.gear]
        self.turns = [np.zeros(days, dtype=np.int64) for _ in self.view.gear]
        self.load = np.zeros(days, dtype=np.int64)
        self.rolled = np.zeros((len(problem.cars), days), dtype=np.int64)
        self.opened = self.rolled.copy()
        self.walked = np.zeros((len(problem.request.buildings), days), dtype=np.int64)
        self.slopes = np.array([slope for _, slope in problem.request.weights.level], dtype=np.int64)
        self.touched = [self._touched(t) for t in range(n)]
        self.rolling = [cars if problem.moves[t] else [] for t, cars in enumerate(self.touched)]
        self.houses = [sorted({int(problem.building[c]) for c in cars}) for cars in self.touched]
        self.work = [int(minutes) for minutes in problem.minutes]
        self.room = self.view.room.T.tolist()
        self.gear_of = [[k for k, gear in enumerate(self.view.gear) if gear.uses[t]] for t in range(n)]
        self.followers: list[list[int]] = [[] for _ in range(n)]
        for t, before in enumerate(problem.after):
            if before >= 0:
                self.followers[before].append(t)
        self.rows: dict[tuple[int, int], tuple[Ints, int]] = {}
        self.total = sum(self.unplaced(t) for t in range(n))

    def _touched(self, t: int) -> list[int]:
        c = int(self.problem.car[t])
        return [c, *self.problem.front[c]] if self.problem.moves[t] else [c]

    def shift(self, t: int) -> int | None:
        """How many days later than supposed the task before ``t`` is done; None: not at all."""
        return shift_of(self.problem, t, self.day_of)

    def row(self, t: int, shift: int) -> tuple[Ints, int]:
        """The price of ``t`` by day (D,), NEVER where it may not be, and of leaving it out."""
        key = t, shift
        if key not in self.rows:
            problem, task = self.problem, self.problem.tasks[t]
            if shift == 0:
                cost, out = problem.cost[t], int(problem.unplaced_cost[t])
                ok = problem.bar[t] == Bar.OPEN
            else:
                cost, out = cost_of(task, problem.request, shift), unplaced_cost(task, problem.request, shift)
                first = problem.request.days[0].day
                ok = (problem.bar[t] == Bar.OPEN) | (problem.bar[t] == Bar.EARLY)
                if task.pinned_day is None:
                    ok = ok & (np.arange(first, first + len(cost)) >= task.early + shift)
            self.rows[key] = np.where(ok, cost, NEVER), out
        return self.rows[key]

    def unplaced(self, t: int) -> int:
        """The price of leaving ``t`` out as things are; nil while the task before it has no place."""
        shift = self.shift(t)
        return 0 if shift is None else self.row(t, shift)[1]

    def prices(self, t: int, *, cold: bool = False) -> tuple[Ints, int]:
        """What ``t`` would add on each day (D,), NEVER where hands, equipment or order forbid, and left out.

        ``cold``: as if it wanted no warm engine.
        """
        shift = self.shift(t)
        if shift is None:
            return np.full(len(self.load), NEVER), 0
        row, out = self.row(t, shift)
        problem, view, w = self.problem, self.view, self.problem.request.weights
        rolling, minutes = self.rolling[t], self.work[t]
        opened = _nil(self.opened, self.touched[t])
        more = minutes + problem.request.visit_minutes * opened
        asked = (
            minutes * view.hours.bound[t][:, None]
            + problem.request.visit_minutes * opened * view.hours.everyone[:, None]
        )
        price = row + w.visit * opened
        if rolling:
            rolled = _nil(self.rolled, rolling)
            more = more + problem.request.move_minutes * rolled
            asked = asked + problem.request.move_minutes * rolled * view.hours.bound_moves[:, None]
            price = price + w.move * rolled
        full = (self.hours + asked > view.hours.capacity).any(axis=0) | (row >= NEVER)
        for k in self.gear_of[t]:
            gear = view.gear[k]
            full |= (self.minutes[k] + gear.taken[t] > gear.minutes) | (self.turns[k] + 1 > gear.turns)
        beyond = self.slopes @ (
            np.maximum(self.load + more - view.room, 0) - np.maximum(self.load - view.room, 0)
        )
        price = price + beyond + w.building * _nil(self.walked, self.houses[t])
        full |= ~self.orders.allows(t, self.day_of, cold=cold)
        return np.where(full, NEVER, price), out

    def enter(self, t: int, d: int) -> None:
        """Put ``t`` on day ``d``; whether it may stand there has been asked before."""
        self.total -= self.unplaced(t)
        self.day_of[t] = d
        self.total += int(self.row(t, self.shift(t) or 0)[0][d]) + self._count(t, d, 1)
        for follower in self.followers[t]:
            self.total += self.unplaced(follower)

    def leave(self, t: int) -> None:
        """Take ``t`` off its day; those that follow it must have left before."""
        d = int(self.day_of[t])
        for follower in self.followers[t]:
            self.total -= self.unplaced(follower)
        self.total += self._count(t, d, -1) - int(self.row(t, self.shift(t) or 0)[0][d])
        self.day_of[t] = NOWHERE
        self.total += self.unplaced(t)

    def _count(self, t: int, d: int, sign: int) -> int:
        """Count ``t`` in or out on day ``d``; what visits, moves, buildings and level cost more by it."""
        request, w, view = self.problem.request, self.problem.request.weights, self.view
        opened = sum(_changed(self.opened, x, d, sign) for x in self.touched[t])
        rolled = sum(_changed(self.rolled, x, d, sign) for x in self.rolling[t])
        walked = sum(_changed(self.walked, x, d, sign) for x in self.houses[t])
        minutes = sign * self.work[t]
        walk, roll = opened * request.visit_minutes, rolled * request.move_minutes
        self.hours[:, d] += minutes * view.hours.bound[t]
        if roll:
            self.hours[:, d] += roll * view.hours.bound_moves
        if walk:
            self.hours[:, d] += walk * view.hours.everyone
        for k in self.gear_of[t]:
            self.minutes[k][d] += sign * view.gear[k].taken[t, d]
            self.turns[k][d] += sign
        load = int(self.load[d])
        self.load[d] = after = load + minutes + walk + roll
        beyond = sum(
            slope * (max(after - room, 0) - max(load - room, 0))
            for (_, slope), room in zip(w.level, self.room[d], strict=True)
        )
        return int(opened * w.visit + rolled * w.move + walked * w.building + beyond)


def _changed(counts: Ints, row: int, d: int, sign: int) -> int:
    """Count one reason more or less; 1 where it is the first, −1 where it was the last, else 0."""
    now = int(counts[row, d]) + sign
    counts[row, d] = now
    return sign if now == (sign > 0) else 0


def _nil(counts: Ints, rows: list[int]) -> Ints:
    """How many of ``rows`` have no reason yet, by day (D,)."""
    none = (counts[rows[0]] == 0).astype(np.int64)
    for row in rows[1:]:
        none += counts[row] == 0
    return np.asarray(none, dtype=np.int64)
