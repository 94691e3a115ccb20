"""From likelihoods and duties to what each system needs next, and what that may cost: the one estimate.

Rules (policy): a repair counts in the low case if trouble is almost certain (90 %) at the shortest standing
time, in the likely case from an even chance, in the high case from 10 % at the longest. A car in care pays
for the duties asked for now and for what somebody found at it; what standing may have told on is no bill of
a car that is looked after. Low, likely and high are added straight, so the range is on the wide side.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scheduler.condition.outlook import SystemOutlook
from scheduler.condition.prices import MINUTES_PER_HOUR, Prices, Rates
from scheduler.condition.remedies import NOTHING, REMEDIES, Triple
from scheduler.duties.fuel.tanks import ASSUMED_TANK_LITRES
from scheduler.vocabulary.duties import DUTIES, DUTY
from scheduler.vocabulary.systems import SYSTEMS

COUNTS_FROM = np.array([0.90, 0.50, 0.10])  # chance from which a repair counts: low, likely, high case
ALWAYS = "always done"
SYSTEM_OF = {part: system.code for system in SYSTEMS for part in system.parts}


@dataclass(frozen=True)
class CostLine:
    """One piece of work as it counts: hours, parts and money, each low, likely, high.

    ``system``: whose duty or repair it is, "" for work on the whole; ``stage`` of recommissioning, or "".
    """

    work: str
    label: str
    hours: Triple
    parts: Triple
    money: Triple
    because: str
    system: str = ""
    stage: str = ""


@dataclass(frozen=True)
class Estimate:
    """What a car needs next, line by line; ``waiting_days``: soaking, on top of the hours."""

    lines: tuple[CostLine, ...] = ()
    waiting_days: Triple = NOTHING

    @property
    def hours(self) -> Triple:
        """All lines together."""
        return _sum(line.hours for line in self.lines)

    @property
    def parts(self) -> Triple:
        """All lines together."""
        return _sum(line.parts for line in self.lines)

    @property
    def money(self) -> Triple:
        """All lines together."""
        return _sum(line.money for line in self.lines)

    def of_system(self, code: str) -> Triple:
        """The money of one system; of "" what belongs to no single one."""
        return _sum(line.money for line in self.lines if line.system == code)

    def of_stage(self, key: str) -> Triple:
        """The money of one stage of recommissioning."""
        return _sum(line.money for line in self.lines if line.stage == key)


@dataclass(frozen=True)
class Need:
    """One system: its parts with their likelihoods, the duties asked for now, likely repairs, cost."""

    title: str
    parts: tuple[SystemOutlook, ...]
    duties: tuple[str, ...]
    repairs: tuple[str, ...]
    cost: Triple


def estimate_care(
    outlooks: Sequence[SystemOutlook],
    asked: Collection[str],
    rates: Rates,
    prices: Prices,
    tank_litres: float | None = None,
) -> Estimate:
    """What a car in care needs next; ``asked`` are the duties that fall to be done now."""
    duties = [duty_line(duty.code, rates, tank_litres) for duty in DUTIES if duty.code in asked]
    repairs = [repair_line(part, prices) for part in outlooks if part.is_seen and part.system in REMEDIES]
    return Estimate((*duties, *repairs))


def needs(outlooks: Sequence[SystemOutlook], asked: Collection[str], estimate: Estimate) -> tuple[Need, ...]:
    """Every system in its order, with its share of the estimate."""
    by_name = {each.system: each for each in outlooks}
    return tuple(
        Need(
            system.title,
            tuple(by_name[part] for part in system.parts if part in by_name),
            tuple(duty.code for duty in DUTIES if duty.system == system.code and duty.code in asked),
            tuple(_likely_repairs(estimate, system.code, by_name)),
            estimate.of_system(system.code),
        )
        for system in SYSTEMS
    )


def _likely_repairs(estimate: Estimate, system: str, by_name: Mapping[str, SystemOutlook]) -> Iterator[str]:
    """The repairs that count in the likely case, or of which nobody knows."""
    for line in estimate.lines:
        part = by_name.get(line.work)
        if line.system == system and part and (line.hours[1] or not part.is_known):
            yield line.label


def duty_line(duty: str, rates: Rates, tank_litres: float | None = None) -> CostLine:
    """One duty done once: staff's time, and what is filled in."""
    hours = np.array(DUTY[duty].work.minutes, float) / MINUTES_PER_HOUR
    filled = np.array(_filled(duty, rates, tank_litres), float)
    row = DUTY[duty]
    line = _line(duty, row.title, hours, filled, rates.hour, "asked for now")
    return replace(line, system=row.system)


def _filled(duty: str, rates: Rates, tank_litres: float | None) -> Triple:
    uses = DUTY[duty].uses
    price = getattr(rates, uses) if uses else 0.0
    if DUTY[duty].fluid:
        return price, price, price
    least, likely, most = ASSUMED_TANK_LITRES.range if tank_litres is None else (tank_litres,) * 3
    return least * price, likely * price, most * price


def repair_line(part: SystemOutlook, prices: Prices, stage: str = "", *, always: bool = False) -> CostLine:
    """The repair of one part as far as it counts, by the rule above or ``always``; KeyError where none is."""
    remedy = REMEDIES[part.system]
    share = (np.array([part.low, part.likely, part.high]) >= COUNTS_FROM) | always
    parts = np.array(remedy.count, float) * getattr(prices, remedy.part)
    hours = np.array(remedy.hours) * share
    line = _line(
        part.system,
        remedy.words,
        hours,
        parts * share,
        prices.workshop_hour,
        ALWAYS if always else _because(part),
    )
    return replace(line, system=SYSTEM_OF[part.system], stage=stage)


def _because(part: SystemOutlook) -> str:
    if part.is_seen:
        return "found at the car"
    return f"trouble {part.range_in_words}" if part.is_known else "nobody knows: counted at most"


def workshop_line(
    work: str, label: str, hours: Triple, parts: Triple, prices: Prices, stage: str
) -> CostLine:
    """Work of a workshop that is always done, its materials by the organisation's factor."""
    materials = np.array(parts, float) * prices.parts_factor
    line = _line(work, label, np.array(hours, float), materials, prices.workshop_hour, ALWAYS)
    return replace(line, stage=stage)


def _line(
    work: str,
    label: str,
    hours: npt.NDArray[np.float64],
    parts: npt.NDArray[np.float64],
    hour: float,
    because: str,
) -> CostLine:
    return CostLine(work, label, _triple(hours), _triple(parts), _triple(hours * hour + parts), because)


def _triple(values: npt.NDArray[np.float64]) -> Triple:
    low, likely, high = (float(value) for value in values)
    return low, likely, high


def _sum(triples: Iterable[Triple]) -> Triple:
    return _triple(np.array([NOTHING, *triples], float).sum(axis=0))


def rated(prices: Mapping[str, float]) -> tuple[Rates, Prices]:
    """Rates and prices by name in one mapping; what is not given keeps its default."""
    own = {name: value for name, value in prices.items() if name in Rates.__dataclass_fields__}
    parts = {name: value for name, value in prices.items() if name in Prices.__dataclass_fields__}
    return Rates(**own), Prices(**parts)
