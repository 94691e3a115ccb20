"""A result as logged at the car, brought to the check's own unit and judged."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from scheduler.recommission.stages.steps import Check, Grade, Number
from scheduler.vocabulary.errors import BadInput
from scheduler.vocabulary.units import unit_named


@dataclass(frozen=True)
class Result:
    """One entry at the car: a value or an answer, or ``None`` for "could not do" with the reason in note."""

    check: str
    at: datetime
    value: float | str | None
    unit: str = ""
    instrument: str = ""
    conditions: Mapping[str, float] = field(default_factory=dict)
    by: str = ""
    note: str = ""


def in_own_unit(check: Check, result: Result) -> float | str | None:
    """The value in the check's unit, volts as magnitudes: on positive earth only the sign turns.

    BadInput if the unit cannot be brought to it.
    """
    if not isinstance(check.judge, Number) or not isinstance(result.value, (int, float)):
        return result.value
    unit = unit_named(check.judge.unit, result.unit)
    if unit is None:
        raise BadInput("unit", f"is measured in {check.judge.unit}, not {result.unit or 'no unit'}")
    value = unit.to_si(float(result.value))
    return abs(value) if check.judge.unit == "V" else value


def grade(check: Check, result: Result) -> Grade | None:
    """Pass, caution or stop; None where it could not be done."""
    value = in_own_unit(check, result)
    return None if value is None else check.judge.grade(value, result.conditions)
