"""Which look at the car would change the price most.

Rule (policy): a system whose trouble is neither ruled out nor found is open. Found good it costs nothing,
found bad it costs its repair; of two outcomes with chance p the spread (standard deviation of a Bernoulli
variable) is the repair's likely money × √(p (1 − p)). What spreads most is worth looking at first.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import sqrt

from scheduler.condition.estimate import COUNTS_FROM
from scheduler.condition.outlook import SystemOutlook
from scheduler.condition.prices import Prices
from scheduler.condition.remedies import Triple
from scheduler.recommission.costs import estimate
from scheduler.recommission.stages.gates import StageState
from scheduler.recommission.stages.plan import Plan


@dataclass(frozen=True)
class Swing:
    """One open system: the chance of trouble, what it adds to the price, and the look that settles it."""

    system: str
    label: str
    chance: float
    money: Triple
    first_look: str

    @property
    def spread(self) -> float:
        """How far the price may turn out from what is expected, in money."""
        return self.money[1] * sqrt(self.chance * (1.0 - self.chance))


def price_swings(
    plan: Plan,
    outlooks: Sequence[SystemOutlook],
    states: Sequence[StageState] = (),
    prices: Prices | None = None,
) -> tuple[Swing, ...]:
    """Every open system with a repair of its own, the widest spread first.

    >>> from scheduler.condition.outlook import Stood, outlook
    >>> from scheduler.recommission.stages.plan import dormancy, plan_for
    >>> plan = plan_for(dormancy(3000.0, known_preparation=False))
    >>> swings = price_swings(plan, outlook(Stood(2000, 4000)))
    >>> swings[0].spread == max(one.spread for one in swings)
    True
    """
    certain, _, ruled_out = COUNTS_FROM
    swings = []
    for place, one in enumerate(outlooks):
        if not ruled_out <= one.likely < certain:
            continue
        bad, good = (
            estimate(plan, [*outlooks[:place], sure(one, chance), *outlooks[place + 1 :]], states, prices)
            for chance in (1.0, 0.0)
        )
        low, likely, high = (up - down for up, down in zip(bad.money, good.money, strict=True))
        if likely > 0:
            swings.append(Swing(one.system, one.label, one.likely, (low, likely, high), one.first_look))
    return tuple(sorted(swings, key=lambda swing: (-swing.spread, swing.label)))


def sure(one: SystemOutlook, chance: float) -> SystemOutlook:
    """The same system with its trouble certain (1) or ruled out (0)."""
    return replace(one, low=chance, likely=chance, high=chance)
