"""What recommissioning costs in hours, parts and money: low, likely and high, before and after inspection.

Rules (policy): work that the plan always asks for counts in full until its stage is through. A
repair counts in the low case if trouble is almost certain (90 %), in the likely case from an even
chance, in the high case from 10 %. A check that has passed takes its repair away; one that has
stopped makes it certain. Low, likely and high are added straight, so the range is on the wide side.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scheduler.condition.outlook import SystemOutlook
from scheduler.recommission.stages.gates import THROUGH, StageState, State
from scheduler.recommission.stages.plan import ORDER, YEARS, Plan
from scheduler.recommission.work import SOAK_DAYS, WORK, Triple, Work
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]
COUNTS_FROM = np.array([0.90, 0.50, 0.10])  # chance from which a repair counts: low, likely, high case


@dataclass(frozen=True)
class Rates:
    """The organisation's own rates: money for an hour, and a factor on parts, each low, likely, high."""

    currency: str = "GBP"
    hour: Triple = (45.0, 60.0, 90.0)
    parts_factor: Triple = (1.0, 1.0, 1.0)


@dataclass(frozen=True)
class CostLine:
    """One piece of work as it counts: hours, parts and money, each low, likely, high."""

    stage: str
    work: str
    label: str
    hours: Triple
    parts: Triple
    money: Triple
    because: str


@dataclass(frozen=True)
class Estimate:
    """What is left to do, line by line, with totals; ``waiting_days``: soaking, on top of the hours."""

    currency: str
    lines: tuple[CostLine, ...]
    hours: Triple
    parts: Triple
    money: Triple
    waiting_days: Triple
    by_stage: Mapping[str, Triple]


def estimate(
    plan: Plan,
    outlooks: Sequence[SystemOutlook],
    states: Sequence[StageState] = (),
    rates: Rates | None = None,
) -> Estimate:
    """The cost of what the plan still asks for; ``states`` empty: before inspection.

    >>> from scheduler.condition.outlook import Stood, outlook
    >>> from scheduler.recommission.stages.plan import dormancy, plan_for
    >>> left = estimate(plan_for(dormancy(3000.0, known_preparation=False)), outlook(Stood(2000, 4000)))
    >>> left.money[0] <= left.money[1] <= left.money[2]
    True
    """
    rates = _checked(rates or Rates())
    stages = {stage.key for stage in plan.stages}
    chances = {answer.system: answer.likely for answer in outlooks}
    checks = {check.check: check.state for state in states for check in state.checks}
    through = {state.stage for state in states if state.state in THROUGH}
    wanted = [work for work in WORK if work.stage in stages and work.from_years <= YEARS[plan.dormancy]]
    lines = [_line(work, _share(work, chances, checks, through), rates) for work in wanted]
    kept = tuple(line for line in lines if line.hours[-1] > 0 or line.parts[-1] > 0)
    waiting = (0.0, 0.0, 0.0) if "R3" in through else SOAK_DAYS[plan.dormancy]
    by_stage = {
        key: _sum([line.money for line in kept if line.stage == key]) for key in sorted(stages, key=_number)
    }
    return Estimate(
        rates.currency,
        kept,
        _sum([line.hours for line in kept]),
        _sum([line.parts for line in kept]),
        _sum([line.money for line in kept]),
        waiting,
        by_stage,
    )


def _number(stage: str) -> int:
    return ORDER[stage]


def _checked(rates: Rates) -> Rates:
    for name, triple in (("hour", rates.hour), ("parts_factor", rates.parts_factor)):
        if not 0 <= triple[0] <= triple[1] <= triple[2]:
            raise BadInput(name, "needs low, likely and high, in that order, none below zero")
    return rates


def _share(
    work: Work, chances: Mapping[str, float], checks: Mapping[str, State], through: set[str]
) -> tuple[Floats, str]:
    """Whether the work counts in each of the three cases (1 or 0), and why."""
    if not work.system:
        return np.full(3, float(work.stage not in through)), "always done"
    state = checks.get(work.proved_by)
    if state is State.STOP:
        return np.ones(3), "the check stopped: certain"
    if state in THROUGH:
        return np.zeros(3), "the check passed"
    chance = chances.get(work.system, 1.0)
    return np.asarray(chance >= COUNTS_FROM, float), f"{chance:.0%} chance by its standing time"


def _line(work: Work, counted: tuple[Floats, str], rates: Rates) -> CostLine:
    share, because = counted
    hours = np.array(work.hours.range) * share
    parts = np.array(work.parts.range) * np.array(rates.parts_factor) * share
    money = hours * np.array(rates.hour) + parts
    return CostLine(work.stage, work.key, work.label, _triple(hours), _triple(parts), _triple(money), because)


def _triple(values: Floats) -> Triple:
    low, likely, high = (float(value) for value in values)
    return low, likely, high


def _sum(triples: Sequence[Triple]) -> Triple:
    return _triple(np.array(triples, float).sum(axis=0)) if triples else (0.0, 0.0, 0.0)
