"""What a recommissioned car takes with it: its baseline readings, and what its care still lacks.

Rule: every measured value of the recommissioning is the first point of the car's own record, so that it never
stands unrecorded again. A value that was never taken is named, not guessed.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from scheduler.recommission.stages.gates import latest
from scheduler.recommission.stages.plan import Plan
from scheduler.recommission.stages.results import Result, grade, in_own_unit
from scheduler.recommission.stages.steps import Check, Grade, Number


@dataclass(frozen=True)
class Baseline:
    """One measured value to start the record with, in the check's own unit."""

    check: str
    measure: str
    value: float
    unit: str
    grade: Grade
    at: datetime
    instrument: str


@dataclass(frozen=True)
class Aftercare:
    """The readings to start from, and the measured checks that have none."""

    baseline: tuple[Baseline, ...]
    missing: tuple[str, ...]


def aftercare(plan: Plan, results: Sequence[Result]) -> Aftercare:
    """The baseline that a finished recommissioning leaves, in the plan's order."""
    log = latest(plan, results)
    measured = [check for check in plan.checks if isinstance(check.judge, Number)]
    readings = [(check, _reading(check, log.get(check.key))) for check in measured]
    return Aftercare(
        tuple(reading for _, reading in readings if reading is not None),
        tuple(check.key for check, reading in readings if reading is None),
    )


def _reading(check: Check, result: Result | None) -> Baseline | None:
    if result is None or not isinstance(check.judge, Number):
        return None
    value, graded = in_own_unit(check, result), grade(check, result)
    if not isinstance(value, float) or graded is None:
        return None
    return Baseline(check.key, check.measure, value, check.judge.unit, graded, result.at, result.instrument)
