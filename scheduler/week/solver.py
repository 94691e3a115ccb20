"""The solver: HiGHS on the programme with fractions allowed; its answer guides the start and is a bound."""

from dataclasses import dataclass

import highspy
import numpy as np

from scheduler.week.model import FREE, Floats, Model

MOST_ITERATIONS = 200_000  # a count, not a clock: the same request has the same answer


@dataclass(frozen=True)
class Relaxed:
    """``x`` (columns,) with fractions (None: not within the iterations), and the bound that is proven."""

    x: Floats | None
    bound: float


def relax(model: Model) -> Relaxed:
    """The cheapest x with fractions allowed.

    First without the shared rows, where each group of cars stands alone and the answer is quick; then
    the shared rows are tightened and the dual simplex goes on from there: ten times as fast as at once.
    The first answer alone is a bound, if a weak one.
    """
    programme, rows = _programme(model), np.arange(model.shared, model.rows.count, dtype=np.int32)
    upper = np.array(programme.row_upper_)
    programme.row_upper_ = np.where(np.arange(len(upper)) < model.shared, upper, highspy.kHighsInf)
    solver = highspy.Highs()  # type: ignore[no-untyped-call]
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)  # sites are planned side by side, a core each
    solver.setOptionValue("simplex_iteration_limit", MOST_ITERATIONS)
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
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.searchsorted(rows[order], np.arange(model.rows.count + 1))
    lp.a_matrix_.index_ = columns[order]
    lp.a_matrix_.value_ = np.concatenate(model.rows.value)[order]
    return lp
