"""What each car needs and when, kept up to date as care is done: arrays with one row a duty.

Only what care has touched is forecast anew, and what may come to be held as time goes by.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from scheduler.duties.battery.charge import LIMITS as CHARGE_LIMITS
from scheduler.duties.battery.charge.holds import COLD
from scheduler.duties.conditions import Bools, Fleet, Floats, Ints
from scheduler.duties.engine.run_up.window import FROZEN, WAXED
from scheduler.duties.policy import Policy
from scheduler.duties.table import DUTIES
from scheduler.duties.windows import NOT_HELD, DutyWindow
from scheduler.vocabulary.duties import DUTIES as ROWS
from scheduler.vocabulary.duties import EVERY_DUTY
from scheduler.vocabulary.duties import Duty as Row
from scheduler.year.changes import NEVER, Practice

DUTY_NAMES = tuple(duty.name for duty in DUTIES)
AT = {name: index for index, name in enumerate(DUTY_NAMES)}
CHECK_LIMIT = CHARGE_LIMITS.index("maintainer check")
CHARGE = next(row.code for row in ROWS if row.effect == "charged")
# Duties that share a forecast of the fuel; old fuel may come to hold them without any care.
OF_THE_FUEL = tuple(row.code for row in ROWS if row.shares_forecast == "fuel")
GROUPS = (OF_THE_FUEL, *((name,) for name in DUTY_NAMES if name not in OF_THE_FUEL))
REFILLS = tuple(row.code for row in ROWS if row.effect == "filled")
DOSES = tuple(row.code for row in ROWS if row.effect == "dosed")


WARMS = next(row.code for row in ROWS if row.work.warms)
OF_THE_WEATHER = {CHARGE: (COLD,), WARMS: (WAXED, FROZEN)}  # holds that pass with the cold


def _touched(duty: Row) -> tuple[str, ...]:
    """Whose dates a duty, once done, may move: its own, those that it names, those that any visit moves."""
    if duty.touches == EVERY_DUTY:
        return DUTY_NAMES
    return (duty.code, *duty.touches, *(row.code for row in ROWS if row.seen_on_any_visit))


TOUCHES = {row.code: _touched(row) for row in ROWS}


@dataclass(frozen=True)
class Due:
    """Of each duty and car (duties, n): whole due days (inf: never), hard limits (NaN: none), holds.

    ``checks`` (n,): the charge duty is only a look at a maintainer. ``stale``: to be forecast anew.
    """

    day: Floats
    late: Floats
    held: Bools
    checks: Bools
    stale: Bools

    @classmethod
    def of(cls, fleet: Fleet, today: float, policy: Policy, practice: Practice) -> "Due":
        """Every car's needs on ``today``."""
        shape = (len(DUTY_NAMES), len(fleet))
        due = cls(
            np.empty(shape),
            np.empty(shape),
            np.empty(shape, bool),
            np.empty(shape[1], bool),
            np.ones(shape, bool),
        )
        due.refresh(fleet, np.arange(len(fleet)), today, policy, practice)
        return due

    def refresh(self, fleet: Fleet, rows: Ints, today: float, policy: Policy, practice: Practice) -> None:
        """Forecast anew, as of ``today``, what is stale of ``rows`` (k,), and what is due in fuel."""
        for group in GROUPS:
            at = np.array([AT[name] for name in group])[:, None]
            needed = self.stale[at, rows]
            if group is OF_THE_FUEL:
                needed = needed | (~self.held[at, rows] & (self.day[at, rows] < today))
            picked = rows[needed.any(axis=0)]
            if picked.size:
                self._forecast(group, fleet.take(picked), picked, today, policy, practice)

    def _forecast(
        self, group: Iterable[str], part: Fleet, rows: Ints, today: float, policy: Policy, practice: Practice
    ) -> None:
        for name in group:
            index = AT[name]
            window = DUTIES[index].window(part, today, policy)
            self.day[index, rows] = np.where(np.isnan(window.due), np.inf, np.floor(window.due))
            self.late[index, rows] = window.late
            left_out = name in DOSES and practice.stabilise == NEVER
            # what the cold forbids is done all the same: where it is warm
            held = (window.hold != NOT_HELD) & ~self._of_the_weather(name, window)
            self.held[index, rows] = held | left_out
            self.stale[index, rows] = False
            if name == CHARGE:
                self.checks[rows] = window.limit == CHECK_LIMIT

    @staticmethod
    def _of_the_weather(duty: str, window: DutyWindow) -> Bools:
        return np.isin(window.hold, OF_THE_WEATHER.get(duty, ()))

    def touch(self, done: Bools) -> None:
        """Mark what work (duties, n) may have moved; whoever comes also sees the maintainer."""
        for name, touched in TOUCHES.items():
            self.stale[[AT[other] for other in touched]] |= done[AT[name]]
        self.stale[AT[CHARGE]] |= done.any(axis=0) & self.checks


def past_harm(late: Floats, since: float, until: Floats | float) -> Floats:
    """Days after ``late`` (n,) between ``since`` and ``until``; a limit that never comes gives none."""
    begins = np.where(np.isnan(late), np.inf, np.maximum(late, since))
    return np.asarray(np.maximum(until - begins, 0.0))
