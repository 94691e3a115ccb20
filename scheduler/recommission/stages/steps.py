"""One check of the plan, and how a value or an answer is judged: pass, caution or stop."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from math import inf, isnan

import numpy as np

from scheduler.recommission.stages.acts import Act
from scheduler.vocabulary.cited import Cited
from scheduler.vocabulary.errors import BadInput


class Grade(StrEnum):
    """What a result is worth."""

    PASS = "pass"  # noqa: S105 - a grade, no secret
    CAUTION = "caution"
    STOP = "stop"


@dataclass(frozen=True, slots=True)
class Shift:
    """Moves every limit by ``by`` at ``at`` of one named condition, straight between, flat beyond.

    Where the condition is not given, ``unknown`` is taken: the strictest case.
    """

    condition: str
    at: tuple[float, ...]
    by: tuple[float, ...]
    unknown: float

    def amount(self, conditions: Mapping[str, float]) -> float:
        """How far the limits move, in the check's own unit."""
        return float(np.interp(conditions.get(self.condition, self.unknown), self.at, self.by))


@dataclass(frozen=True, slots=True)
class Number:
    """A measured value: inside ``pass_low`` to ``pass_high`` passes, inside the caution band is watched.

    Anything else stops. An infinite ``pass_low`` means that no general pass value exists: only the
    car's own handbook can give one.
    """

    unit: str
    pass_low: float = -inf
    pass_high: float = inf
    caution_low: float = inf
    caution_high: float = inf
    shift: Shift | None = None

    def grade(self, value: float | str, conditions: Mapping[str, float]) -> Grade:
        """The grade of a value in ``unit``; BadInput where it is no number."""
        if isinstance(value, str) or isnan(value):
            raise BadInput("value", f"needs a number in {self.unit}")
        moved = self.shift.amount(conditions) if self.shift else 0.0
        if self.pass_low + moved <= value <= self.pass_high + moved:
            return Grade.PASS
        if self.caution_low + moved <= value <= self.caution_high + moved:
            return Grade.CAUTION
        return Grade.STOP

    def with_handbook(self, low: float, high: float) -> "Number":
        """The same check with this car's own values: they alone pass, and the rest stops.

        BadInput: low above high.
        """
        if not low <= high:
            raise BadInput("handbook", f"low {low:g} is above high {high:g}")
        return replace(self, pass_low=low, pass_high=high, caution_low=inf, caution_high=inf, shift=None)


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer chosen from a short list."""

    passes: tuple[str, ...]
    stops: tuple[str, ...]
    cautions: tuple[str, ...] = ()

    def grade(self, value: float | str, conditions: Mapping[str, float]) -> Grade:  # noqa: ARG002
        """The grade of an answer; BadInput lists the choices."""
        for grade, answers in zip(Grade, (self.passes, self.cautions, self.stops), strict=True):
            if value in answers:
                return grade
        raise BadInput("value", f"{value!r} is none of {', '.join(self.passes + self.cautions + self.stops)}")


@dataclass(frozen=True)
class Check:
    """One thing to do and record at a stage.

    ``from_years``: asked of cars that stood at least so long. ``temporary``: answers that
    hold for now only, open until the check ``temporary_until`` has passed after them. ``qualified``: when
    to stop and whom to call. ``kind``: the kind of machine that it is for, "" any. ``by_volts``: its values
    are those of a 12 V system, fitted to the car's own. ``act``: what is done to the car. ``closes``: the
    check that took apart, drained or capped what this one joins or fits again.
    """

    key: str
    stage: str
    do: str
    measure: str
    judge: Number | Answer
    source: Cited
    instrument: str = "eyes and hands"
    conditions: str = ""
    causes: tuple[str, ...] = ()
    next_action: str = ""
    hazard: str = ""
    caution: str = ""
    qualified: str = ""
    from_years: float = 0.0
    temporary: tuple[str, ...] = ()
    temporary_until: str = ""
    kind: str = ""
    by_volts: bool = False
    act: Act = Act.LOOK
    closes: str = ""


@dataclass(frozen=True)
class Stage:
    """One stage. ``after``: the stages that must be through before this one may begin."""

    key: str
    title: str
    after: tuple[str, ...]
    checks: tuple[Check, ...]


def stage(key: str, title: str, after: str, *checks: Check) -> Stage:
    """A stage with its key written into its checks."""
    return Stage(key, title, tuple(after.split()), tuple(replace(check, stage=key) for check in checks))
