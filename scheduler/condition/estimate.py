"""From likelihoods and duties to what each system needs next, and what that may cost.

Rule (policy): a duty counts when it is asked for now; a repair counts at the high end when trouble
is at least as likely as not at the longest standing time, at the low end when it is so at the shortest.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from scheduler.condition.outlook import SystemOutlook
from scheduler.condition.prices import MINUTES_PER_HOUR, Prices, Rates
from scheduler.condition.remedies import REMEDIES
from scheduler.duties.fuel.tanks import ASSUMED_TANK_LITRES
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.duties import DUTIES, DUTY
from scheduler.vocabulary.systems import SYSTEMS

EVEN = Constant(0.5, "1", "a repair counts from even odds", Standing.POLICY)


@dataclass(frozen=True)
class Money:
    """A cost from least to most, in the money of the rates."""

    low: float = 0.0
    high: float = 0.0

    def __add__(self, other: "Money") -> "Money":
        return Money(self.low + other.low, self.high + other.high)


@dataclass(frozen=True)
class Need:
    """One system: its parts with their likelihoods, the duties asked for now, likely repairs, cost."""

    title: str
    parts: tuple[SystemOutlook, ...]
    duties: tuple[str, ...]
    repairs: tuple[str, ...]
    cost: Money


def needs(
    outlooks: Sequence[SystemOutlook],
    asked: Collection[str],
    rates: Rates,
    prices: Prices,
    tank_litres: float | None = None,
    *,
    in_care: bool = False,
) -> tuple[Need, ...]:
    """Every system in its order; ``asked`` are the duties that fall to be done now.

    ``in_care``: what standing may have told on is no bill of a car that is looked after; finds are.
    """
    by_name = {each.system: each for each in outlooks}
    return tuple(
        _need(
            system.title,
            [by_name[part] for part in system.parts if part in by_name],
            [duty.code for duty in DUTIES if duty.system == system.code and duty.code in asked],
            rates,
            prices,
            tank_litres,
            in_care=in_care,
        )
        for system in SYSTEMS
    )


def _need(  # one system with all that bears on it
    title: str,
    parts: Sequence[SystemOutlook],
    duties: Sequence[str],
    rates: Rates,
    prices: Prices,
    tank_litres: float | None,
    *,
    in_care: bool,
) -> Need:
    billed = [part for part in parts if part.is_found or not in_care]
    cost = sum((duty_cost(duty, rates, tank_litres) for duty in duties), Money())
    cost = sum((repair_cost(part, rates, prices) for part in billed), cost)
    likely = [REMEDIES[part.system].words for part in billed if part.high >= EVEN.value]
    return Need(title, tuple(parts), tuple(duties), tuple(likely), cost)


def duty_cost(duty: str, rates: Rates, tank_litres: float | None = None) -> Money:
    """One duty done once: hands, and what is filled in."""
    least, _, most = DUTY[duty].work.minutes
    filled = _filled(duty, rates, tank_litres)
    hour = rates.hour / MINUTES_PER_HOUR
    return Money(least * hour + filled.low, most * hour + filled.high)


def _filled(duty: str, rates: Rates, tank_litres: float | None) -> Money:
    uses = DUTY[duty].uses
    price = getattr(rates, uses) if uses else 0.0
    if DUTY[duty].fluid:
        return Money(price, price)
    least, _, most = ASSUMED_TANK_LITRES.range if tank_litres is None else (tank_litres,) * 3
    return Money(least * price, most * price)


def repair_cost(part: SystemOutlook, rates: Rates, prices: Prices) -> Money:
    """What the repair of one part adds to the range, by the rule above."""
    remedy = REMEDIES[part.system]
    each = getattr(prices, remedy.part) if remedy.part else 0.0
    least, most = (
        hours * rates.hour + count * each for hours, count in zip(remedy.hours, remedy.count, strict=True)
    )
    return Money(least if part.low >= EVEN.value else 0.0, most if part.high >= EVEN.value else 0.0)


def total(every: Sequence[Need]) -> Money:
    """All systems together; the parts stay beside it."""
    return sum((each.cost for each in every), Money())


def rated(prices: Mapping[str, float]) -> tuple[Rates, Prices]:
    """Rates and prices by name in one mapping; what is not given keeps its default."""
    own = {name: value for name, value in prices.items() if name in Rates.__dataclass_fields__}
    parts = {name: value for name, value in prices.items() if name in Prices.__dataclass_fields__}
    return Rates(**own), Prices(**parts)
