"""Better and better: some visits are taken off the plan and put back otherwise, as often as asked for.

Ruin and recreate (Schrimpf et al. 2000, from memory): what is kept must be better, or worse by less
than a threshold that falls to nothing. A seed and a count of steps decide all, never the clock.
"""

from collections.abc import Iterable, Sequence

import numpy as np

from scheduler.week.ledger import Ledger
from scheduler.week.means import means_of
from scheduler.week.problem import Ints
from scheduler.week.timetable import fits, timetable
from scheduler.week.view import NEVER
from scheduler.week.work import BEFORE_WARMING, MOVING
from scheduler.week.worth import NOWHERE

BEGINS = 20.0  # the third of a visit's price: what a step may cost at first
MOST_VISITS = 5  # taken off in one step
WARM_DAYS = 6  # tried for a run-up with what wants the warm engine
FOR_MISSING = 0.3  # share of steps that begin with a task without a place
REFUSED = 30  # a price for choosing only, each time that a day had no time after all
MOST_TRIED = 12  # days, where a timetable has no time
NEAR_DAYS = 9  # about the day that a step is about


class Search:
    """One plan on its way; ``ledger`` holds it."""

    def __init__(self, ledger: Ledger, seed: int) -> None:
        self.ledger, self.problem = ledger, ledger.problem
        self.random = np.random.default_rng(seed)
        self.tasks_of: list[list[int]] = [[] for _ in self.problem.cars]
        for t, c in enumerate(self.problem.car):
            self.tasks_of[c].append(t)
        self.warmed: dict[int, list[int]] = {}
        for t, run_ups in self.problem.warm.items():
            for run_up in run_ups:
                self.warmed.setdefault(run_up, []).append(t)
        self.refused = np.zeros(self.problem.cost.shape, dtype=np.int64)
        self.known: dict[tuple[int, frozenset[int]], bool] = {}

    def construct(self, dear: Ints) -> None:
        """A plan at once: pinned first, then what stood in the last plan, then the most pressing.

        ``dear`` (n, D) adds to the prices.
        """
        tasks, previous = self.problem.tasks, self.problem.request.previous

        def key(t: int) -> tuple[float, ...]:
            task = tasks[t]
            return (
                task.pinned_day is None,
                self.depth(t),
                task.key not in previous,
                task.duty == MOVING,
                t in self.problem.warm,
                task.late,
                task.duty not in BEFORE_WARMING,
                -task.minutes,
            )

        self.fill(sorted(range(len(tasks)), key=key), dear, checked=False)
        self.repair()

    def fill(self, tasks: Sequence[int], dear: Ints | None = None, *, checked: bool = True) -> None:
        """Give each task in turn its cheapest day that has time, or none; ``dear`` (n, D) adds to prices."""
        for t in tasks:
            if self.ledger.day_of[t] == NOWHERE:
                self._place(t, None if dear is None else dear[t], checked=checked)

    def _place(self, t: int, dear: Ints | None, *, checked: bool) -> None:
        """The cheapest day; where it leaves warm work out that must be done, the next that does not."""
        ledger, then = self.ledger, self._colder(t)
        price, out = self._prices(t, then)
        price = price if dear is None else price + dear
        most = self.problem.request.weights.unplaced
        must = max([out, *(ledger.unplaced(o) for o in then)]) >= most
        second = None
        for d in (int(d) for d in np.argsort(price, kind="stable")[: None if must else MOST_TRIED]):
            if price[d] >= min(out, NEVER):
                break
            if checked and not self.has_time(d, t):
                continue
            self._enter(t, d, then, checked=checked)
            if not checked or all(ledger.unplaced(o) < most for o in self._colder(t)):
                return
            second = d if second is None else second
            self._take_off([t, *then])
        if second is not None:
            self._enter(t, second, then, checked=True)

    def repair(self) -> None:
        """Take off each day what its timetable cannot hold, and look for another day."""
        left: set[int] = set()
        for d in range(len(self.ledger.load)):
            on = [int(t) for t in np.flatnonzero(self.ledger.day_of == d)]
            left |= set(timetable(self.problem, on, means_of(self.problem, d)).left)
        left |= {t for o in left for t in self.problem.warm.get(o, ())}  # cold work goes with a run-up again
        left = self._with_dependants(left)
        self._take_off(left)
        self.fill(
            sorted(left, key=lambda t: (self.depth(t), t in self.problem.warm, self.problem.tasks[t].late))
        )

    def _with_dependants(self, tasks: Iterable[int]) -> set[int]:
        """The tasks and all that cannot stay where they are without them."""
        out, todo = set(tasks), list(tasks)
        while todo:
            o = todo.pop()
            for x in (*self.ledger.followers[o], *self.warmed.get(o, ())):
                if x not in out:
                    out.add(x)
                    todo.append(x)
        return out

    def _take_off(self, tasks: Iterable[int]) -> None:
        for o in self._last_first(tasks):
            if self.ledger.day_of[o] != NOWHERE:
                self.ledger.leave(o)

    def _colder(self, t: int) -> list[int]:
        """What wants the warm engine of run-up ``t`` and has no place yet."""
        return [o for o in self.warmed.get(t, ()) if self.ledger.day_of[o] == NOWHERE]

    def _enter(self, t: int, d: int, then: list[int], *, checked: bool) -> None:
        self.ledger.enter(t, d)
        for o in then:
            price, out = self.ledger.prices(o)
            if price[d] < min(out, NEVER) and (not checked or self.has_time(d, o)):
                self.ledger.enter(o, d)

    def has_time(self, d: int, more: int = NOWHERE) -> bool:
        """Whether the timetable of day ``d`` holds what stands on it, and the task ``more``."""
        on = frozenset(
            [*(int(t) for t in np.flatnonzero(self.ledger.day_of == d)), *([more] if more >= 0 else [])]
        )
        key = d, on
        if key not in self.known:
            self.known[key] = fits(self.problem, sorted(on), means_of(self.problem, d))
        return self.known[key]

    def improve(self, steps: int) -> Ints:
        """The best days (n,) met in ``steps``."""
        ledger = self.ledger
        best, least = ledger.day_of.copy(), ledger.total
        for step in range(steps):
            before, was = ledger.total, ledger.day_of.copy()
            removed = self._ruin()
            self._recreate(removed)
            allowed = BEGINS * (1 - step / steps) * -np.log(self.random.random())
            changed = np.flatnonzero(ledger.day_of != was)
            days = {int(ledger.day_of[t]) for t in changed} - {NOWHERE}
            if ledger.total > before + allowed or self._lacks_time(days, changed):
                self._restore(was, changed)
            elif ledger.total < least:
                best, least = ledger.day_of.copy(), ledger.total
        self._restore(best, np.flatnonzero(ledger.day_of != best))
        return best

    def _lacks_time(self, days: Iterable[int], changed: Ints) -> bool:
        """Whether the timetable of one of the days fails; what came to it is less drawn there from now on."""
        for d in sorted(days):
            if not self.has_time(d):
                self.refused[changed[self.ledger.day_of[changed] == d], d] += REFUSED
                return True
        return False

    def _restore(self, day_of: Ints, changed: Ints) -> None:
        self._take_off(changed)
        for t in reversed(self._last_first(changed)):
            if day_of[t] != NOWHERE:
                self.ledger.enter(t, int(day_of[t]))

    def _last_first(self, tasks: Iterable[int]) -> list[int]:
        return sorted((int(t) for t in tasks), key=lambda t: -self.depth(t))

    def depth(self, t: int) -> int:
        """How many tasks come before ``t`` in its chain."""
        before = self.problem.after[t]
        return 0 if before < 0 else 1 + self.depth(before)

    def _ruin(self) -> list[int]:
        """Take some visits off; those tasks, and others that had no place near by."""
        ledger, random = self.ledger, self.random
        placed = np.flatnonzero(ledger.day_of != NOWHERE)
        away = np.flatnonzero(ledger.day_of == NOWHERE)
        if not placed.size:
            return [int(t) for t in away]
        out: set[int] = set()
        first = self.problem.request.days[0].day
        dear = self._missing(away) if random.random() < FOR_MISSING else []
        if dear:
            t = int(random.choice(dear))
            out |= {t, *(r for r in self.problem.warm.get(t, ()))}
            low, high = self.problem.tasks[t].early - first, self.problem.tasks[t].late - first
            about = int(random.integers(max(low, 0), max(min(high, len(ledger.load) - 1), max(low, 0)) + 1))
        else:
            t = int(random.choice(placed))
            about = int(ledger.day_of[t])
        c = int(self.problem.car[t])
        near = int(random.integers(0, NEAR_DAYS + 1))
        visits = [(c, about)]
        mine = placed[np.abs(ledger.day_of[placed] - about) <= near]
        if mine.size:
            picked = random.choice(mine, int(random.integers(1, MOST_VISITS)))
            visits += [(int(self.problem.car[o]), int(ledger.day_of[o])) for o in picked]
        whole = random.random() < 0.5  # the same cars' other visits near by, too
        for car, day in visits:
            for o in self.tasks_of[car]:
                at = int(ledger.day_of[o])
                if at != NOWHERE and (at == day or (whole and abs(at - day) <= 2 * NEAR_DAYS)):
                    out.add(o)
        out = self._with_dependants(out)
        self._take_off(out)
        cars = {int(self.problem.car[o]) for o in out}
        return [*out, *(int(o) for o in away if int(self.problem.car[o]) in cars and o not in out)]

    def _missing(self, away: Ints) -> list[int]:
        """Tasks that have no place and want one before the plan ends; any, if there are none such."""
        last = self.problem.request.days[-1].day
        wanted = [int(t) for t in away if self.problem.tasks[t].due + (self.ledger.shift(t) or 0) <= last]
        return wanted or [int(t) for t in away]

    def _recreate(self, removed: list[int]) -> None:
        """Put them back, each on its cheapest day, in one of a few orders."""
        tasks, random = self.problem.tasks, self.random
        noise = random.random(len(removed))
        kind = random.random()
        luck = dict(zip(removed, noise, strict=True))

        def key(t: int) -> tuple[float, ...]:
            task = tasks[t]
            follows = float(t in self.problem.warm)
            if kind < 0.4:
                return (self.depth(t), follows, task.duty not in BEFORE_WARMING, luck[t])
            if kind < 0.7:
                return (self.depth(t), follows, task.duty == MOVING, task.late + 10 * luck[t])
            return (self.depth(t), follows, task.duty == MOVING, -task.minutes, luck[t])

        for t in sorted(removed, key=key):
            if self.ledger.day_of[t] == NOWHERE:
                then = self._colder(t)
                price, out = self._prices(t, then)
                d = int((price + self.refused[t]).argmin())
                if price[d] < min(out, NEVER):
                    self._enter(t, d, then, checked=False)

    def _prices(self, t: int, then: list[int]) -> tuple[Ints, int]:
        """What ``t`` adds by day (D,) and left out, with what wants its warm engine on the same visit."""
        ledger = self.ledger
        price, out = ledger.prices(t)
        if then:
            beside = [ledger.prices(o, cold=True) for o in then]
            together = price + sum(np.minimum(cost, left_out) - left_out for cost, left_out in beside)
            for d in np.argsort(together, kind="stable")[:WARM_DAYS]:
                if price[d] < NEVER:
                    ledger.enter(t, int(d))
                    for o in then:
                        cost, left_out = ledger.prices(o)
                        price[d] += min(int(cost[d]), left_out) - left_out
                    ledger.leave(t)
        return price, out
