"""From a year of care to hours, kilowatt-hours and money at the organisation's own rates."""

from dataclasses import dataclass

import numpy as np

from scheduler.condition.prices import MINUTES_PER_HOUR, Rates
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.duties import DUTY
from scheduler.year.due import DUTY_NAMES
from scheduler.year.year import KINDS, MAINTAINER_CHECK, Year

CHECK_MINUTES = Constant(
    2.0, "min", "its light is on, its leads are on: our allowance", Standing.POLICY, 1.0, 5.0
)
WH_PER_KWH = 1000.0
MINUTES = np.array(
    [CHECK_MINUTES.value if kind == MAINTAINER_CHECK else DUTY[kind].work.minutes.likely for kind in KINDS]
)
IS_FLUID = np.array([kind != MAINTAINER_CHECK and bool(DUTY[kind].fluid) for kind in KINDS])


@dataclass(frozen=True)
class Outcome:
    """A year of one fleet in figures: by kind of work, by duty for risk, and in all.

    ``alone_days`` and ``cared_days``: car-days past a harm line, by duty, if nobody comes and with care.
    """

    cars: int
    done: dict[str, int]
    held: dict[str, int]
    hours: dict[str, float]
    alone_days: dict[str, float]
    cared_days: dict[str, float]
    charging_kwh: float
    maintainer_kwh: float
    money: dict[str, float]

    @property
    def total_done(self) -> int:
        """All duties done in the year."""
        return sum(self.done.values())

    @property
    def total_hours(self) -> float:
        """All hours of staff in the year."""
        return sum(self.hours.values())

    @property
    def total_kwh(self) -> float:
        """Electricity for charging and for maintainers."""
        return self.charging_kwh + self.maintainer_kwh

    @property
    def total_money(self) -> float:
        """Everything that the year costs."""
        return sum(self.money.values())

    @property
    def total_alone_days(self) -> float:
        """Car-days past a harm line if nobody comes, added up over the duties."""
        return sum(self.alone_days.values())

    @property
    def total_cared_days(self) -> float:
        """The same when each duty is done on its due date."""
        return sum(self.cared_days.values())

    def scaled(self, factor: float) -> "Outcome":
        """The same for ``factor`` times as many cars, where only a sample was worked out."""
        return Outcome(
            cars=round(self.cars * factor),
            done={name: round(count * factor) for name, count in self.done.items()},
            held={name: round(count * factor) for name, count in self.held.items()},
            hours=_times(self.hours, factor),
            alone_days=_times(self.alone_days, factor),
            cared_days=_times(self.cared_days, factor),
            charging_kwh=self.charging_kwh * factor,
            maintainer_kwh=self.maintainer_kwh * factor,
            money=_times(self.money, factor),
        )


def _times(figures: dict[str, float], factor: float) -> dict[str, float]:
    return {name: value * factor for name, value in figures.items()}


def outcome(year: Year, maintainer_wh: float, rates: Rates) -> Outcome:
    """The figures of a year; ``maintainer_wh`` is what its maintainers draw from the mains."""
    done = year.done.sum(axis=1)
    hours = done * MINUTES / MINUTES_PER_HOUR
    charging_kwh, maintainer_kwh = float(year.charged_wh.sum()) / WH_PER_KWH, maintainer_wh / WH_PER_KWH
    money = {
        "staff": float(hours.sum()) * rates.hour,
        "electricity": (charging_kwh + maintainer_kwh) * rates.kwh,
        "fuel": float(year.refilled_litres.sum()) * rates.fuel,
        "stabiliser": float(year.dosed_litres.sum()) * rates.stabiliser,
        "fluids": float(done[IS_FLUID].sum()) * rates.fluid,
    }
    return Outcome(
        cars=year.done.shape[1],
        done=dict(zip(KINDS, map(int, done), strict=True)),
        held=dict(zip(DUTY_NAMES, map(int, year.held.sum(axis=1)), strict=True)),
        hours=dict(zip(KINDS, map(float, hours), strict=True)),
        alone_days=dict(zip(DUTY_NAMES, map(float, year.alone_days.sum(axis=1)), strict=True)),
        cared_days=dict(zip(DUTY_NAMES, map(float, year.cared_days.sum(axis=1)), strict=True)),
        charging_kwh=charging_kwh,
        maintainer_kwh=maintainer_kwh,
        money=money,
    )
