"""What recommissioning costs in hours, parts and money: the plan's own work, and the repairs beside it.

Rules (policy): work that the plan always asks for counts in full until its stage is through; after years of
standing some repairs are such work. Any other repair counts by the chance of its part, as in
``scheduler.condition``: what the steps have proved good costs nothing, a fault that was found is certain.
"""

from collections.abc import Collection, Iterator, Sequence

from scheduler.condition.estimate import CostLine, Estimate, repair_line, workshop_line
from scheduler.condition.outlook import SystemOutlook
from scheduler.condition.prices import Prices
from scheduler.condition.remedies import NOTHING, REMEDIES
from scheduler.recommission.stages.gates import StageState
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
    through = {state.stage for state in states if state.is_done}
    work = [one for one in WORK if one.stage in stages and one.from_years <= YEARS[plan.dormancy]]
    lines = [_always(one, prices) for one in work if one.stage not in through]
    lines += _repairs(outlooks, YEARS[plan.dormancy], through, prices)
    waiting = NOTHING if "R3" in through else SOAK_DAYS[plan.dormancy]
    return Estimate(tuple(sorted(lines, key=lambda line: ORDER[line.stage])), waiting)


def _always(work: Work, prices: Prices) -> CostLine:
    return workshop_line(work.key, work.label, work.hours.range, work.parts.range, prices, work.stage)


def _repairs(
    outlooks: Sequence[SystemOutlook], years: float, through: Collection[str], prices: Prices
) -> Iterator[CostLine]:
    for part in outlooks:
        if part.system not in REMEDIES:
            continue
        at = REPAIRED_AT[part.system]
        line = repair_line(part, prices, at.stage, always=years >= at.always_from)
        done = years >= at.always_from and at.stage in through and not part.is_seen
        if line.hours[-1] and not done:
            yield line
