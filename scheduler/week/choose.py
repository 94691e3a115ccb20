"""Which task in which bucket: exactly where the view is small, nearly so with a bound where it is big."""

from dataclasses import dataclass
from time import perf_counter

import numpy as np

from scheduler.week.blocks import alone, parties
from scheduler.week.model import Floats, Model, build
from scheduler.week.problem import Ints
from scheduler.week.start import chosen_buckets, columns, construct
from scheduler.week.view import View
from scheduler.week.worth import NOWHERE

EXACT_COLUMNS = 1500  # up to here the whole-number programme is solved at once
WHOLE = 0.999
PATIENCE_SECONDS = 30.0  # without the relaxed answer there is no good plan by weeks: it may take this long
GOOD_ENOUGH = 0.02  # of the cost: closer than this, time is better spent on the days


@dataclass(frozen=True)
class Choice:
    """``bucket_of`` (n,) chosen tasks; ``cost`` in the view; ``bound``: nothing costs less."""

    bucket_of: Ints
    cost: float
    bound: float
    proven: bool


def choose(view: View, seconds: float, gap: float = 0.0) -> Choice:
    """The cheapest buckets found in about ``seconds``; a constructed plan is the floor.

    A big view is first solved with fractions allowed, which proves the bound. Almost every task comes
    out whole; the cars of the others are then solved in whole numbers with the rest held still.
    """
    model = build(view)
    if model.layout.columns <= EXACT_COLUMNS:
        return _exact(view, model, construct(view), seconds, gap)
    from scheduler.week.solver import relax  # the solver's library loads where a plan is made

    begun = perf_counter()
    relaxed = relax(model, max(seconds, PATIENCE_SECONDS))
    if relaxed.x is None:
        built = construct(view)
        return Choice(built, _cost(view, model, built), relaxed.bound, False)
    rounded = _rounded(view, model, relaxed.x, seconds)
    cost, left = _cost(view, model, rounded), seconds - (perf_counter() - begun)
    if cost - relaxed.bound <= max(gap, GOOD_ENOUGH) * cost or left < seconds / 4:
        return Choice(rounded, cost, relaxed.bound, cost <= relaxed.bound + WHOLE)
    better = _exact(view, model, rounded, left, gap)
    return Choice(better.bucket_of, better.cost, max(better.bound, relaxed.bound), better.proven)


def _exact(view: View, model: Model, begun: Ints, seconds: float, gap: float) -> Choice:
    from scheduler.week.solver import solve

    answer = solve(model, columns(view, model.layout, begun), seconds, gap)
    return Choice(chosen_buckets(model.layout, answer.x), answer.cost, answer.bound, answer.proven)


def _cost(view: View, model: Model, bucket_of: Ints) -> float:
    return float(model.price @ columns(view, model.layout, bucket_of)) + model.constant


def _rounded(view: View, model: Model, x: Floats, seconds: float) -> Ints:
    share = np.where(model.layout.put >= 0, x[np.maximum(model.layout.put, 0)], 0.0)
    bucket_of = np.where(share.max(axis=1) > WHOLE, share.argmax(axis=1), NOWHERE)
    party = parties(view.problem, view.chosen)
    open_again = np.flatnonzero(np.isin(party, party[bucket_of == NOWHERE]))
    if open_again.size:
        from scheduler.week.solver import solve

        part = alone(view, bucket_of, open_again)
        smaller = build(part)
        answer = solve(smaller, columns(part, smaller.layout, construct(part)), seconds / 3, 0.002)
        bucket_of[open_again] = chosen_buckets(smaller.layout, answer.x)
    return np.asarray(bucket_of)
