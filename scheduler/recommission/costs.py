"""What recommissioning costs in hours, parts and money: the plan's own work, and the repairs beside it.

Rules (policy): work that the plan always asks for counts in full until its stage is through, and takes
the repairs that it covers with it. A repair counts by the chance of its part, as in ``scheduler.condition``,
until its stage is through; what somebody found at the car counts until it is seen to be good.
"""

from collections.abc import Collection, Iterator, Sequence

from scheduler.condition.estimate import CostLine, Estimate, repair_line, workshop_line
from scheduler.condition.outlook import SystemOutlook
from scheduler.condition.prices import Prices
from scheduler.condition.remedies import NOTHING, REMEDIES
from scheduler.recommission.stages.gates import THROUGH, StageState
from scheduler.recommission.stages.plan import ORDER, YEARS, Plan
from scheduler.recommission.work import REPAIRED_AT, SOAK_DAYS, WORK, Work


def estimate(
    plan: Plan,
    outlooks: Sequence[SystemOutlook],
    states: Sequence[StageState] = (),
    prices: Prices | None = None,
) -> Estimate:
    """The cost of what the plan still asks for; ``states`` empty: before inspection.

    >>> from scheduler.condition.outlook import Stood, outlook
    >>> from scheduler.recommission.stages.plan import dormancy, plan_for
    >>> left = estimate(plan_for(dormancy(3000.0, known_preparation=False)), outlook(Stood(2000, 4000)))
    >>> left.money[0] <= left.money[1] <= left.money[2]
    True
    """
    prices = prices or Prices()
    stages = {stage.key for stage in plan.stages}
    through = {state.stage for state in states if state.state in THROUGH}
    work = [one for one in WORK if one.stage in stages and one.from_years <= YEARS[plan.dormancy]]
    lines = [_always(one, prices) for one in work if one.stage not in through]
    lines += _repairs(outlooks, {part for one in work for part in one.covers}, through, prices)
    waiting = NOTHING if "R3" in through else SOAK_DAYS[plan.dormancy]
    return Estimate(tuple(sorted(lines, key=lambda line: ORDER[line.stage])), waiting)


def _always(work: Work, prices: Prices) -> CostLine:
    return workshop_line(work.key, work.label, work.hours.range, work.parts.range, prices, work.stage)


def _repairs(
    outlooks: Sequence[SystemOutlook], covered: Collection[str], through: Collection[str], prices: Prices
) -> Iterator[CostLine]:
    for part in outlooks:
        if part.system not in REMEDIES or part.system in covered:
            continue
        stage = REPAIRED_AT[part.system].stage
        line = repair_line(part, prices, stage)
        if line.hours[-1] and (part.is_found or stage not in through):
            yield line
