"""One year of care, simulated: who needs what on which day if each duty is done on its due date.

Method. The year goes by in weeks, for all cars at once. At the end of a week the cars with
something due in it are forecast anew; each is visited on the first day on which anything is due,
all that is due that day is done and written into its record, and it is forecast again, until
nothing more is due that week. So each date follows from the care before it: cold slows a battery
in January, warmth hurries it in July.

- What is overdue on the first day is done on the first day.
- A duty that is held is not done; it is counted as held, once a car. A hold that care lifts (stale
  fuel changed) brings the duty back on the day of that care.
- Care that does not move its own date (coolant that freezes there at any strength) is done once, then left;
  the days past its harm line are counted to the end of the year.
- Holds are looked at on the last day of the week, so they may come up to six days early.
- A date is worked out again when care may have moved it (``due.TOUCHES``), not otherwise.
"""

from dataclasses import dataclass

import numpy as np

from scheduler.duties.conditions import Bools, Fleet, Floats, Ints
from scheduler.duties.policy import Policy
from scheduler.year.care import care
from scheduler.year.changes import EACH_FILL, Practice, tank_litres
from scheduler.year.due import AT, CHARGE, DOSES, DUTY_NAMES, REFILLS, Due, past_harm
from scheduler.year.energy import put_back_wh

MAINTAINER_CHECK = "maintainer_check"
KINDS = (*DUTY_NAMES, MAINTAINER_CHECK)
YEAR_DAYS, STEP_DAYS = 365, 7


@dataclass(frozen=True)
class Year:
    """What the year asked of each car: ``done`` (len(KINDS), n), by duty (duties, n), or (n,).

    ``held``: due within the year but not to be done. ``alone_days``: past the harm line if nobody
    comes; ``cared_days``: past it although each duty is done when due.
    """

    done: Ints
    held: Bools
    alone_days: Floats
    cared_days: Floats
    charged_wh: Floats
    refilled_litres: Floats
    dosed_litres: Floats


def year_of_care(fleet: Fleet, today: float, policy: Policy, practice: Practice) -> Year:
    """The year of a fleet from ``today`` on; see the module for the method."""
    end, run = today + YEAR_DAYS, _Run(fleet, today, policy, practice)
    for week in np.append(np.arange(today + STEP_DAYS, end, STEP_DAYS), end):
        rows = np.flatnonzero(run.next_day() < week)
        while rows.size:
            run.visit(rows, float(week))
            rows = rows[run.next_day()[rows] < week]
    run.leave(end)
    return run.year


class _Run:
    """The simulation under way: the fleet as its record stands, and how far each car has come."""

    def __init__(self, fleet: Fleet, today: float, policy: Policy, practice: Practice) -> None:
        n, by_duty = len(fleet), (len(DUTY_NAMES), len(fleet))
        self.fleet, self.today, self.policy, self.practice = fleet, today, policy, practice
        self.visited, self.last_done = np.full(n, today), np.full(by_duty, -np.inf)
        self.due = Due.of(fleet, today, policy, practice)
        alone = np.where(self.due.held, 0.0, past_harm(self.due.late, today, today + YEAR_DAYS))
        self.year = Year(
            np.zeros((len(KINDS), n), np.int64),
            np.zeros(by_duty, bool),
            alone,
            np.zeros(by_duty),
            np.zeros(n),
            np.zeros(n),
            np.zeros(n),
        )

    def _days(self) -> Floats:
        """When each duty is to be done next (duties, n): inf where it is held or did not help."""
        free = ~self.due.held & (self.due.day > self.last_done)
        return np.where(free, np.maximum(self.due.day, self.visited), np.inf)

    def next_day(self) -> Floats:
        """The day (n,) on which each car next needs a look: at once where its dates may have moved."""
        return np.where(self.due.stale.any(axis=0), self.today, self._days().min(axis=0))

    def visit(self, rows: Ints, week: float) -> None:
        """One visit to each of ``rows`` (k,) that has anything due before the end of the week."""
        self.due.refresh(self.fleet, rows, week, self.policy, self.practice)
        self.year.held[:, rows] |= (self.due.held & (self.due.day < week))[:, rows]
        days = self._days()[:, rows]
        visit = days.min(axis=0)
        now = np.zeros(self.due.held.shape, bool)
        now[:, rows] = (days == visit) & (visit < week)
        on_day = self.visited.copy()
        on_day[rows] = np.where(visit < week, visit, on_day[rows])
        if now.any():
            self._book(now, on_day)
            self._write(now, on_day)

    def _write(self, now: Bools, on_day: Floats) -> None:
        """Put the work (duties, n) of these visits into the record."""
        done = {name: np.flatnonzero(now[index]) for index, name in enumerate(DUTY_NAMES)}
        done[CHARGE] = np.flatnonzero(now[AT[CHARGE]] & ~self.due.checks)
        self.fleet = care(self.fleet, done, np.flatnonzero(now.any(axis=0)), on_day, self.practice)
        self.last_done[:] = np.where(now, on_day, self.last_done)
        self.visited = on_day
        self.due.touch(now)

    def _book(self, now: Bools, on_day: Floats) -> None:
        """Count the work of these visits, its energy and fuel, and the days that it came too late."""
        year, checks = self.year, now[AT[CHARGE]] & self.due.checks
        year.done[:-1] += now
        year.done[-1] += checks
        year.done[AT[CHARGE]] -= checks
        year.cared_days[:] += np.where(now, past_harm(self.due.late, self.today, on_day), 0.0)
        charged = np.flatnonzero(now[AT[CHARGE]] & ~self.due.checks)
        if charged.size:
            year.charged_wh[charged] += put_back_wh(self.fleet.take(charged), on_day[charged], self.policy)
        litres = tank_litres(self.fleet, np.arange(len(self.fleet))) * self.practice.fill_share
        refilled, dosed = (now[[AT[name] for name in names]].any(axis=0) for names in (REFILLS, DOSES))
        each = self.practice.stabilise == EACH_FILL
        year.refilled_litres[:] += np.where(refilled, litres, 0.0)
        year.dosed_litres[:] += np.where(dosed | (refilled & each), litres, 0.0)

    def leave(self, end: float) -> None:
        """At the year's end: the days past harm of what care could not help."""
        self.due.stale[:] = True
        self.due.refresh(self.fleet, np.arange(len(self.fleet)), end, self.policy, self.practice)
        helpless = ~self.due.held & (self.due.day <= self.last_done)
        late = np.maximum(self.due.late, self.last_done)
        self.year.cared_days[:] += np.where(helpless, past_harm(late, self.today, end), 0.0)
