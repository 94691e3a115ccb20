"""A view as a linear programme: columns, rows and prices, ready for a solver."""

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from scheduler.week.problem import Ints
from scheduler.week.view import View

Floats = npt.NDArray[np.float64]
FREE = float("inf")


@dataclass(frozen=True)
class Layout:
    """Where each choice has its column (−1: none): task × bucket, and car or building × bucket.

    ``put``: task i in bucket b; ``opened``: car c visited; ``rolled``: car c moved; ``walked``:
    building entered; ``beyond``: minutes over each level step, (steps, b).
    """

    put: Ints
    opened: Ints
    rolled: Ints
    walked: Ints
    beyond: Ints
    columns: int


@dataclass
class Rows:
    """Sparse rows lower ≤ A x ≤ upper, gathered piece by piece."""

    upper: list[Floats] = field(default_factory=list)
    row: list[Ints] = field(default_factory=list)
    column: list[Ints] = field(default_factory=list)
    value: list[Floats] = field(default_factory=list)
    count: int = 0

    def add(self, upper: Floats, row: Ints, column: Ints, value: Floats) -> None:
        """New rows (r,) with their ``upper`` bounds; entries (m,): ``row`` counts from 0 among the new ones.

        ``value`` stands in that row at ``column``.
        """
        self.upper.append(np.asarray(upper, dtype=np.float64))
        self.row.append(row + self.count)
        self.column.append(column)
        self.value.append(np.asarray(value, dtype=np.float64))
        self.count += len(upper)

    def at_most(self, smaller: Ints, larger: Ints) -> None:
        """One row a pair of columns, (m,) each: column ``smaller`` ≤ column ``larger``."""
        n = len(smaller)
        rows = np.tile(np.arange(n), 2)
        self.add(np.zeros(n), rows, np.concatenate([smaller, larger]), np.repeat([1.0, -1.0], n))


@dataclass(frozen=True)
class Model:
    """Minimise price · x + constant, rows ≤ upper, 0 ≤ x ≤ top.

    Rows from ``shared`` on (hands, level, equipment) are all that joins one group of cars to the next.
    """

    layout: Layout
    price: Floats
    constant: float
    top: Floats
    rows: Rows
    shared: int


def layout_of(view: View) -> Layout:
    """A column for every choice that can be made."""
    problem, (_, nb) = view.problem, view.can.shape
    rolls = np.zeros((len(problem.cars), nb), dtype=np.bool_)
    opens = rolls.copy()
    cars = problem.car[view.chosen]
    np.logical_or.at(opens, cars, view.can)
    mover = problem.moves[view.chosen]
    np.logical_or.at(rolls, cars[mover], view.can[mover])
    for c in np.flatnonzero(rolls.any(axis=1)):
        rolls[list(problem.front[c])] |= rolls[c]
    opens |= rolls
    houses = np.zeros((len(problem.request.buildings), nb), dtype=np.bool_)
    np.logical_or.at(houses, problem.building, opens)
    steps = np.ones((len(problem.request.weights.level), nb), dtype=np.bool_)
    at = 0
    numbered: list[Ints] = []
    for used in (view.can, opens, rolls, houses, steps):
        numbers = np.full(used.shape, -1, dtype=np.int64)
        numbers[used] = at + np.arange(int(used.sum()))
        at += int(used.sum())
        numbered.append(numbers)
    put, opened, rolled, walked, beyond = numbered
    return Layout(put, opened, rolled, walked, beyond, at)


def build(view: View) -> Model:
    """The programme of a view."""
    problem, w = view.problem, view.problem.request.weights
    layout, rows = layout_of(view), Rows()
    price, top = np.zeros(layout.columns), np.ones(layout.columns)
    unplaced = problem.unplaced_cost[view.chosen]
    price[layout.put[view.can]] = (view.cost - unplaced[:, None])[view.can]
    for columns, amount in ((layout.opened, w.visit), (layout.rolled, w.move), (layout.walked, w.building)):
        price[columns[columns >= 0]] = amount
    price[layout.beyond] = np.array([slope for _, slope in w.level], dtype=np.float64)[:, None]
    top[layout.beyond] = FREE
    _once(view, layout, rows)
    _car(view, layout, rows)
    _order(view, layout, rows)
    shared = rows.count
    _hands(view, layout, rows)
    _equipment(view, layout, rows)
    return Model(layout, price, float(unplaced.sum()), top, rows, shared)


def _once(view: View, layout: Layout, rows: Rows) -> None:
    """Each task in one bucket at most; the same duty at one car once a day."""
    i, b = np.nonzero(view.can)
    rows.add(np.ones(len(view.chosen)), i, layout.put[i, b], np.ones(len(i)))
    local = {int(t): k for k, t in enumerate(view.chosen)}
    for group in view.problem.alike:
        members = np.array([local[t] for t in group if t in local], dtype=np.int64)
        if len(members) > 1:
            j, b = np.nonzero(view.can[members])
            rows.add(view.span.astype(float), b, layout.put[members[j], b], np.ones(len(j)))


def _car(view: View, layout: Layout, rows: Rows) -> None:
    """A task opens its car; a task that needs it rolls its car, and that those in front."""
    problem = view.problem
    i, b = np.nonzero(view.can)
    cars = problem.car[view.chosen][i]
    rolling = problem.moves[view.chosen][i]
    rows.at_most(layout.put[i, b][~rolling], layout.opened[cars, b][~rolling])
    rows.at_most(layout.put[i, b][rolling], layout.rolled[cars, b][rolling])
    c, b = np.nonzero(layout.rolled >= 0)
    rows.at_most(layout.rolled[c, b], layout.opened[c, b])
    pairs = np.array([(x, f) for x, front in enumerate(problem.front) for f in front], dtype=np.int64)
    for x, f in pairs.reshape(-1, 2):
        b = np.flatnonzero(layout.rolled[x] >= 0)
        rows.at_most(layout.rolled[x, b], layout.rolled[f, b])
    c, b = np.nonzero(layout.opened >= 0)
    rows.at_most(layout.opened[c, b], layout.walked[problem.building[c], b])


def _hands(view: View, layout: Layout, rows: Rows) -> None:
    """Hours of every group of people, and what goes beyond each level step."""
    problem, nb = view.problem, view.can.shape[1]
    i, b = np.nonzero(view.can)
    _, rolled_b = np.nonzero(layout.rolled >= 0)
    rolled = layout.rolled[layout.rolled >= 0]
    _, opened_b = np.nonzero(layout.opened >= 0)
    opened = layout.opened[layout.opened >= 0]
    walk = np.full(len(opened), float(problem.request.visit_minutes))
    minutes = problem.minutes[view.chosen][i].astype(np.float64)
    roll = np.full(len(rolled), float(problem.request.move_minutes))
    for g, capacity in enumerate(view.hours.capacity):
        mine = view.hours.bound[i, g]
        theirs = rolled_b >= (0 if view.hours.bound_moves[g] else nb)
        all_of_us = opened_b >= (0 if view.hours.everyone[g] else nb)
        rows.add(
            capacity.astype(float),
            np.concatenate([b[mine], rolled_b[theirs], opened_b[all_of_us]]),
            np.concatenate([layout.put[i, b][mine], rolled[theirs], opened[all_of_us]]),
            np.concatenate([minutes[mine], roll[theirs], walk[all_of_us]]),
        )
    for step in range(len(view.room)):
        rows.add(
            view.room[step].astype(float),
            np.concatenate([b, rolled_b, opened_b, np.arange(nb)]),
            np.concatenate([layout.put[i, b], rolled, opened, layout.beyond[step]]),
            np.concatenate([minutes, roll, walk, -np.ones(nb)]),
        )


def _equipment(view: View, layout: Layout, rows: Rows) -> None:
    """Each kind of equipment has so many minutes and so many turns."""
    for gear in view.gear:
        i, b = np.nonzero(view.can & gear.uses[:, None])
        rows.add(gear.minutes.astype(float), b, layout.put[i, b], gear.taken[i, b].astype(np.float64))
        rows.add(gear.turns.astype(float), b, layout.put[i, b], np.ones(len(i)))


def _order(view: View, layout: Layout, rows: Rows) -> None:
    """Warm work goes with a run-up; the stabiliser goes in no later than the run-up that draws it in."""
    local = {int(t): k for k, t in enumerate(view.chosen)}
    for task, run_ups in view.problem.warm.items():
        if task in local:
            i, among = local[task], [local[r] for r in run_ups if r in local]
            for b in np.flatnonzero(view.can[i]):
                with_it = layout.put[among, b] if among else np.zeros(0, dtype=np.int64)
                with_it = with_it[with_it >= 0]
                columns = np.concatenate([[layout.put[i, b]], with_it])
                values = np.concatenate([[1.0], -np.ones(len(with_it))])
                rows.add(np.zeros(1), np.zeros(len(columns), dtype=np.int64), columns, values)
    for first, then in view.problem.ahead:
        if first in local and then in local:
            _ahead(layout.put[local[first]], layout.put[local[then]], rows)


def _ahead(first: Ints, then: Ints, rows: Rows) -> None:
    """For each bucket: not both ``then`` by it and ``first`` after it."""
    for b in range(len(first) - 1):
        by, after = then[: b + 1], first[b + 1 :]
        columns = np.concatenate([by[by >= 0], after[after >= 0]])
        if (by >= 0).any() and (after >= 0).any():
            rows.add(np.ones(1), np.zeros(len(columns), dtype=np.int64), columns, np.ones(len(columns)))
