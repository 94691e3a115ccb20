"""A result as logged at the car, brought to the check's own unit and judged."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from scheduler.errors import BadInput
from scheduler.units import KPA_PER_BAR, KPA_PER_PSI
from scheduler.waking.stages.steps import Check, Grade, Number

# How much of the check's unit one unit typed is; (typed, wanted).
UNITS: dict[tuple[str, str], float] = {
    ("psi", "kPa"): KPA_PER_PSI,
    ("bar", "kPa"): KPA_PER_BAR,
    ("inHg", "kPa"): 3.386389,  # NIST SP 811, inch of mercury at 0 °C
    ("l", "ml"): 1000.0,
    ("mV", "V"): 0.001,
    ("min", "s"): 60.0,
}


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
    """The value in the check's unit; BadInput if the unit cannot be brought to it."""
    if not isinstance(check.judge, Number) or not isinstance(result.value, (int, float)):
        return result.value
    if result.unit == check.judge.unit:
        return float(result.value)
    factor = UNITS.get((result.unit, check.judge.unit))
    if factor is None:
        raise BadInput(
            "unit", f"{check.key} is measured in {check.judge.unit}, not {result.unit or 'no unit'}"
        )
    return float(result.value) * factor


def grade(check: Check, result: Result) -> Grade | None:
    """Pass, caution or stop; None where it could not be done."""
    value = in_own_unit(check, result)
    return None if value is None else check.judge.grade(value, result.conditions)
