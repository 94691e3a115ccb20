"""One year of care, simulated: who needs what on which day if each duty is done on its due date.

Method. The year goes by in weeks, for all cars at once. At the end of a week the cars with
something due in it are forecast anew; each is visited on the first day on which anything is due,
all that is due that day is done and written into its record, and it is forecast again, until
nothing more is due that week. So each date follows from the care before it: cold slows a battery
in January, warmth hurries it in July.

- What is overdue on the first day is done on the first day.
- A duty that is held is not done; it is counted as held, once a car. A hold that care lifts (stale
  fuel changed) brings the duty back on the day of that care.
- Care that does not move its own date (ethanol into a glass-fibre tank) is done once and then left;
  the days past its harm line are counted to the end of the year.
- Holds are looked at on the last day of the week, so they may come up to six days early.
"""

from dataclasses import dataclass

import numpy as np

from scheduler.conditions import Bools, Fleet, Floats, Ints
from scheduler.plan.policy import Policy
from scheduler.whatif.care import care
from scheduler.whatif.changes import EACH_FILL, Practice, tank_litres
from scheduler.whatif.due import CHARGE, DUTY_NAMES, FUEL_CHANGE, STABILISER, Due, due_of, past_harm
from scheduler.whatif.energy import put_back_wh

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
        rows = np.flatnonzero(run.next_day < week)
        while rows.size:
            run.visit(rows, float(week))
            rows = rows[run.next_day[rows] < week]
    run.leave(end)
    return run.year


class _Run:
    """The simulation under way: the fleet as its record stands, and how far each car has come."""

    def __init__(self, fleet: Fleet, today: float, policy: Policy, practice: Practice) -> None:
        n = len(fleet)
        self.fleet, self.today, self.policy, self.practice = fleet, today, policy, practice
        self.next_day, self.visited = np.full(n, today), np.full(n, today)
        self.last_done = np.full((len(DUTY_NAMES), n), -np.inf)
        first = due_of(fleet, today, policy, practice)
        alone = np.where(first.held, 0.0, past_harm(first.late, today, today + YEAR_DAYS))
        by_duty = alone.shape
        self.year = Year(
            np.zeros((len(KINDS), n), np.int64), np.zeros(by_duty, bool), alone, np.zeros(by_duty),
            np.zeros(n), np.zeros(n), np.zeros(n),
        )  # fmt: skip

    def visit(self, rows: Ints, week: float) -> None:
        """One visit to each of ``rows`` (k,) that has anything due before the end of the week."""
        part = self.fleet.take(rows)
        due = due_of(part, week, self.policy, self.practice)
        self.year.held[:, rows] |= due.held & (due.day < week)
        free = ~due.held & (due.day > self.last_done[:, rows])
        day = np.where(free, np.maximum(due.day, self.visited[rows]), np.inf)
        visit = day.min(axis=0)
        comes = visit < week
        now = (day == visit) & comes
        self.next_day[rows] = visit  # a car just visited is forecast again before its week is over
        if comes.any():
            self._book(part, rows, due, now, visit)
            self._write(rows[comes], rows, due, now, visit)

    def _write(self, came: Ints, rows: Ints, due: Due, now: Bools, visit: Floats) -> None:
        """Put the work of these visits into the record."""
        day = self.visited.copy()
        day[rows] = np.where(now.any(axis=0), visit, day[rows])
        self.last_done[:, rows] = np.where(now, visit, self.last_done[:, rows])
        done = {name: rows[now[index]] for index, name in enumerate(DUTY_NAMES)}
        done["charge"] = rows[now[CHARGE] & ~due.checks]
        self.visited = day
        self.fleet = care(self.fleet, done, came, day, self.practice)

    def _book(self, part: Fleet, rows: Ints, due: Due, now: Bools, visit: Floats) -> None:
        """Count the work of these visits, its energy and fuel, and the days that it came too late."""
        year, checks = self.year, now[CHARGE] & due.checks
        kinds = np.concatenate([now, checks[None]])
        kinds[CHARGE] &= ~checks
        year.done[:, rows] += kinds
        year.cared_days[:, rows] += np.where(now, past_harm(due.late, self.today, visit), 0.0)
        charged = np.flatnonzero(kinds[CHARGE])
        if charged.size:
            year.charged_wh[rows[charged]] += put_back_wh(part.take(charged), visit[charged], self.policy)
        litres = tank_litres(part, np.arange(len(part))) * self.practice.fill_share
        dose = now[STABILISER] | (now[FUEL_CHANGE] & (self.practice.stabilise == EACH_FILL))
        year.refilled_litres[rows] += np.where(now[FUEL_CHANGE], litres, 0.0)
        year.dosed_litres[rows] += np.where(dose, litres, 0.0)

    def leave(self, end: float) -> None:
        """At the year's end: the days past harm of what care could not help."""
        due = due_of(self.fleet, end, self.policy, self.practice)
        helpless = ~due.held & (due.day <= self.last_done)
        late = np.fmax(due.late, np.where(np.isfinite(self.last_done), self.last_done, np.nan))
        late = np.where(np.isnan(due.late), np.nan, late)
        self.year.cared_days[:] += np.where(helpless, past_harm(late, self.today, end), 0.0)
