"""One car's battery as plain numbers, for the words and the worked equations."""

from dataclasses import dataclass

import numpy as np

from scheduler.duties.battery.charge.decline import day_of, lost
from scheduler.duties.battery.charge.hardening import losses
from scheduler.duties.battery.charge.state import State, known_state
from scheduler.duties.battery.charge.window import LIMITS, Dates, dates_of, window
from scheduler.duties.conditions import Fleet, Floats
from scheduler.duties.policy import Policy
from scheduler.duties.words import one_car
from scheduler.physics.battery.batteries import BATTERIES, Battery
from scheduler.physics.battery.discharge import state_of_charge

_CAR = np.zeros(1, np.int64)


@dataclass(frozen=True)
class Case:
    """All that the explanation of one car draws on."""

    fleet: Fleet
    today: float
    policy: Policy
    state: State
    dates: Dates
    battery: Battery
    early: float
    due: float
    late: float
    limit: str
    hold: int  # position in the window's holds, -1: none

    @property
    def start(self) -> float:
        """The day from which it runs down."""
        return float(self.dates.start[0])

    @property
    def floating(self) -> bool:
        """Whether it is on a maintainer."""
        return bool(self.dates.floating[0])

    @property
    def capacity_ah(self) -> float:
        """What it likely holds when full."""
        return float(self.state.pack.capacity_ah[1, 0])

    @property
    def rated_ah(self) -> float:
        """What its label says."""
        return float(self.capacity_ah / (self.state.pack.health[1, 0] * self.state.pack.unhardened[1, 0]))

    @property
    def lasting_loss(self) -> Floats:
        """What standing low has cost for good by today (3,), least, likely, most: of what age has left."""
        return self._losses[0]

    @property
    def comes_back(self) -> float:
        """What a full charge would likely bring back."""
        lasting, missing = self._losses
        return float(missing[1] - lasting[1])

    @property
    def _losses(self) -> tuple[Floats, Floats]:
        clock = self.state.hardened
        lasting, missing = losses(clock.today, clock.charged, self.state.pack.chemistry)
        return lasting[:, 0], missing[:, 0]

    @property
    def drain_ma(self) -> float:
        """The likely key-off drain."""
        return float(self.state.pack.drain_a[1, 0] * 1000.0)

    def soc_on(self, day: float) -> float:
        """The likely state of charge on a day."""
        gone = lost(self.state.rates.case(1), self.state.air, _CAR, self._start(), np.array([day]))
        return float(state_of_charge(self.dates.soc[1], gone, 0.0)[0])

    @property
    def empty_on(self) -> float:
        """The day on which it is likely empty, if nobody charges it."""
        (day,) = day_of(self.state.rates.cases((1,)), self.state.air, self._start(), self.dates.soc[[1]])
        return float(day[0])

    def factor_until(self, day: float) -> float:
        """K from the start to a day, in days' worth of the rate at 25 °C."""
        return float(self.state.air.between(_CAR, self._start(), np.array([day]))[0]) * 30.0

    def mean_c(self, until: float) -> float:
        """Mean temperature of the place from the start to a day."""
        place = self.fleet.places[int(self.fleet.place[0])]
        first = int(np.clip(self.start - place.first_day, 0, place.days - 1))
        last = int(np.clip(until - place.first_day, first + 1, place.days))
        return float(place.mean_c[first:last].mean())

    def percent_a_day(self, index: int) -> float:
        """Total loss in % of capacity a day at the place's mean, slow, likely or fast; as learned."""
        rates = self.state.rates.case(index)
        return float((rates.self_30d * self.state.air.mean_factor + rates.drain)[0] * 100.0)

    def _start(self) -> Floats:
        return self.dates.start


def case_of(fleet: Fleet, today: float, policy: Policy) -> Case:
    """The numbers of a fleet of one."""
    one_car(fleet)
    state = known_state(fleet, today, policy)
    dates = window(fleet, today, policy)
    return Case(
        fleet,
        today,
        policy,
        state,
        dates_of(fleet, state, policy),
        BATTERIES[int(state.pack.chemistry[0])],
        float(dates.early[0]),
        float(dates.due[0]),
        float(dates.late[0]),
        LIMITS[int(dates.limit[0])],
        int(dates.hold[0]),
    )
