"""The solver: HiGHS, given a good start and a time limit; it answers with a choice and a bound."""

from dataclasses import dataclass

import highspy
import numpy as np

from scheduler.week.model import FREE, Floats, Model

WHOLE = 0.5  # a solver's whole number is whole within its tolerance


@dataclass(frozen=True)
class Answer:
    """``x`` (columns,) the best choice found; ``bound``: no choice costs less; ``proven``: x is best."""

    x: Floats
    cost: float
    bound: float
    proven: bool


@dataclass(frozen=True)
class Relaxed:
    """``x`` with fractions (None: not found in time), and the bound that is proven."""

    x: Floats | None
    bound: float


def solve(model: Model, start: Floats, seconds: float, gap: float = 0.0) -> Answer:
    """The cheapest x (columns,) found in ``seconds``; never dearer than ``start``, which must keep every row.

    ``gap``: stop when (cost − bound) / cost is no more than this.
    """
    solver = _quiet(seconds)
    solver.setOptionValue("mip_rel_gap", gap)
    solver.passModel(_programme(model))
    begun = highspy.HighsSolution()
    begun.col_value = list(start)
    solver.setSolution(begun)
    solver.run()
    cost = float(model.price @ start)
    info = solver.getInfo()
    bound = float(info.mip_dual_bound)
    x, best = start, np.array(solver.getSolution().col_value)
    if len(best) == len(start) and float(model.price @ best) < cost - WHOLE and keeps(model, best):
        x, cost = best, float(model.price @ best)
    proven = solver.getModelStatus() == highspy.HighsModelStatus.kOptimal and gap == 0.0
    bound = min(bound, cost) if np.isfinite(bound) else float(_floor(model))
    return Answer(x, cost + model.constant, bound + model.constant, proven)


def relax(model: Model, seconds: float) -> Relaxed:
    """The cheapest x with fractions allowed.

    First without the shared rows, where each group of cars stands alone and the answer is quick; then
    the shared rows are tightened and the dual simplex goes on from there: ten times as fast as at once.
    The first answer alone is a bound, if a weak one.
    """
    programme, rows = _programme(model), np.arange(model.shared, model.rows.count, dtype=np.int32)
    upper = np.array(programme.row_upper_)
    programme.integrality_ = []
    programme.row_upper_ = np.where(np.arange(len(upper)) < model.shared, upper, highspy.kHighsInf)
    solver = _quiet(seconds)
    solver.passModel(programme)
    solver.run()
    apart = _optimum(solver)
    below = np.full(len(rows), -highspy.kHighsInf)
    solver.changeRowsBounds(len(rows), rows, below, upper[model.shared :])  # type: ignore[attr-defined]
    solver.run()
    joined = _optimum(solver)
    if joined is None:
        return Relaxed(None, (_floor(model) if apart is None else apart) + model.constant)
    return Relaxed(np.array(solver.getSolution().col_value), joined + model.constant)


def _optimum(solver: highspy.Highs) -> float | None:
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    return float(solver.getInfo().objective_function_value)


def keeps(model: Model, x: Floats) -> bool:
    """Whether x, rounded where whole, keeps every row."""
    rounded = np.where(model.whole, np.round(x), x)
    columns, rows = np.concatenate(model.rows.column), np.concatenate(model.rows.row)
    sums = np.bincount(rows, np.concatenate(model.rows.value) * rounded[columns], model.rows.count)
    return bool((sums <= np.concatenate(model.rows.upper) + 1e-6).all() and (x >= -1e-6).all())


def _quiet(seconds: float) -> highspy.Highs:
    solver = highspy.Highs()  # type: ignore[no-untyped-call]
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)  # sites are planned side by side, a core each
    solver.setOptionValue("time_limit", max(seconds, 0.1))
    return solver


def _floor(model: Model) -> float:
    """A bound that needs no solver: every saving taken, nothing paid."""
    return float(np.minimum(model.price, 0).sum())


def _programme(model: Model) -> highspy.HighsLp:
    rows, columns = np.concatenate(model.rows.row), np.concatenate(model.rows.column)
    order = np.argsort(rows, kind="stable")
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = model.layout.columns, model.rows.count
    lp.col_cost_ = model.price
    lp.col_lower_ = np.zeros(model.layout.columns)
    lp.col_upper_ = np.where(model.top == FREE, highspy.kHighsInf, model.top)
    lp.row_lower_ = np.full(model.rows.count, -highspy.kHighsInf)
    lp.row_upper_ = np.concatenate(model.rows.upper)
    lp.integrality_ = [
        highspy.HighsVarType.kInteger if whole else highspy.HighsVarType.kContinuous for whole in model.whole
    ]
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.searchsorted(rows[order], np.arange(model.rows.count + 1))
    lp.a_matrix_.index_ = columns[order]
    lp.a_matrix_.value_ = np.concatenate(model.rows.value)[order]
    return lp
