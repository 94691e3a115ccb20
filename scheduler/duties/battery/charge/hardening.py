"""What standing low has cost each battery: the sulphation clock, replayed from fact to fact.

Between two facts the charge is a straight line in K, the climate's part, and in time; its square under the
onset is a sum of six totals of the place, so that no day is looked at singly. A stretch is cut where the line
meets the onset and where it meets empty. Where the next fact is a reading the line is drawn through it; up to
a charge, or to today, it falls at the battery's own rate. The capacity within one stretch is that at its
beginning.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from scheduler.duties.battery.charge.decline import Air, Rates
from scheduler.duties.battery.charge.evidence import CHARGE, KINDS, PART, Events
from scheduler.duties.conditions import Bools, Fleet, Floats, Ints
from scheduler.duties.crossings import total_at
from scheduler.duties.windows import Day, each_row
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.battery.discharge import factor_days
from scheduler.physics.battery.sulphation import (
    DAYS_PER_WEEK,
    ONSET_SOC,
    hardening_speed,
    lasting_loss,
    standing_loss,
)
from scheduler.physics.climate import Place, running, totals
from scheduler.physics.materials import at

LAST_TOTALS = 16
CASES = (0, 1, 2)  # least, likely, most
STEPS = 5  # of Newton: into the right day, from anywhere within a stretch of years
CAME_IN = -1  # before all kinds of events: a battery fitted, or a car laid up, on that day


@dataclass(frozen=True)
class Hardened:
    """Weeks on the clock, and those at the last full charge: at each event (m,), and of each battery (n,)
    today."""

    at_events: Floats
    charged_at_events: Floats
    today: Floats
    charged: Floats


@dataclass(frozen=True)
class Known:
    """What the clock needs to know: the events with the level that each left, when each battery came in (n,)
    and at which level, since when it is on a maintainer (n,), its likely rates, the level where none is
    known."""

    fleet: Fleet
    events: Events
    entered: Floats
    entered_soc: float
    floating_since: Floats
    rates: Rates
    air: Air
    unknown_soc: float
    today: Day


def harden(known: Known) -> Hardened:
    """The clock of every battery at each of its events and today; levels and rates as ``known`` has them."""
    n, m = len(known.fleet), known.events.row.size
    events, event = _with_arrival(known)
    if not events.row.size:
        return Hardened(np.zeros(m), np.zeros(m), np.zeros(n), np.zeros(n))
    last = np.append(events.row[1:] != events.row[:-1], True)
    after = np.minimum(np.arange(events.row.size) + 1, events.row.size - 1)
    now = np.fmin(each_row(known.today, n), known.floating_since)[events.row]
    began = np.where(events.kind == KINDS.index(CHARGE), events.shown, events.day)
    end = np.maximum(np.where(last, now, began[after]), events.day)
    soc = np.clip(np.where(np.isnan(events.soc), known.unknown_soc, events.soc), 0.0, 1.0)
    weeks = _weeks(known, events, end, soc, np.where(last | ~_reads(events.kind[after]), np.nan, soc[after]))
    total, place = np.cumsum(weeks), np.arange(weeks.size)
    head = np.append(True, last[:-1])
    begin = place[head][np.cumsum(head) - 1]  # of each event the first of its row
    before = (total - weeks)[begin]
    at_event = np.maximum(total - weeks - before, 0.0)
    full = (events.kind == KINDS.index(CHARGE)) & ~np.isnan(events.soc)
    newest_full = np.maximum.accumulate(np.where(full, place, -1))
    charged = np.where(newest_full >= begin, at_event[newest_full], 0.0)
    today, charged_today = np.zeros(n), np.zeros(n)
    today[events.row[last]] = np.maximum(total - before, 0.0)[last]
    charged_today[events.row[last]] = charged[last]
    of_record = event >= 0
    order = event[of_record]
    at_events, charged_at = np.zeros(m), np.zeros(m)
    at_events[order], charged_at[order] = at_event[of_record], charged[of_record]
    floating = ~np.isnan(known.floating_since)  # its maintainer has brought back what comes back
    return Hardened(at_events, charged_at, today, np.where(floating, today, charged_today))


def losses(
    weeks: Floats, charged: Floats, chemistry: Ints, cases: Sequence[int] = CASES
) -> tuple[Floats, Floats]:
    """Shares of capacity lost for good, and missing until a full charge, (3, k) each: least, likely, most.

    ``weeks`` and ``charged`` (k,) of batteries of these kinds (k,); ``cases``: only some of the three.
    """
    life = at(BATTERIES, chemistry, "hardens")[::-1][list(cases)]
    lasting = lasting_loss(weeks, life)
    return lasting, standing_loss(lasting, lasting_loss(charged, life))


def _reads(kind: Ints) -> Bools:
    return np.asarray((kind != KINDS.index(CHARGE)) & (kind != KINDS.index(PART)))


def _with_arrival(known: Known) -> tuple[Events, Ints]:
    """The events with one more where a battery came in before all of them, and its place there.

    Of a battery of which nobody knows when it was fitted, nothing is reckoned before its first fact.
    """
    events, n = known.events, len(known.fleet)
    first = np.full(n, np.inf)
    np.minimum.at(first, events.row, events.day)
    entered = np.maximum(known.entered, known.air.first_day)
    (row,) = np.nonzero((entered < first) & ~np.isnan(known.fleet.battery_installed))
    if not row.size:
        return events, np.arange(events.row.size)
    level = np.full(row.size, known.entered_soc)
    arrival = Events(row, entered[row], level, level, np.full(row.size, CAME_IN), entered[row])
    pairs = zip(vars(arrival).values(), vars(events).values(), strict=True)
    joined = Events(*(np.concatenate(pair) for pair in pairs))
    index = np.concatenate([np.full(row.size, CAME_IN), np.arange(events.row.size)])
    order = np.argsort(joined.row, kind="stable")  # the arrival stands before all others of its row
    return joined.keep(order), index[order]


def _weeks(known: Known, events: Events, end: Floats, soc: Floats, reached: Floats) -> Floats:
    """Weeks on the clock of each stretch (m,), from an event to ``end``; ``reached``: as then read, NaN."""
    row, start, air = events.row, events.day, known.air
    own = known.rates.at_rows(row)
    fall = own.self_30d * air.between(row, start, end) + own.drain * (end - start)
    pace = np.divide(soc - reached, fall, out=np.ones_like(fall), where=(fall > 0.0) & ~np.isnan(reached))
    pace = np.where(reached > 0.0, np.maximum(pace, 0.0), np.maximum(pace, 1.0))  # of an empty one: at least
    hard = np.isfinite(at(BATTERIES, known.fleet.chemistry, "hardens")[1])[row]
    low = np.flatnonzero(hard & (end > start) & (soc - pace * fall < ONSET_SOC.value))
    weeks = np.zeros(row.size)
    if low.size:
        some = Rates((own.self_30d * pace)[low], (own.drain * pace)[low])
        weeks[low] = _clocked(known, row[low], start[low], end[low], soc[low], some)
    return weeks


def _clocked(known: Known, row: Ints, start: Floats, end: Floats, soc: Floats, rates: Rates) -> Floats:
    """The clock of stretches (k,) that end below the onset, by the totals of their places."""
    air, r, d = known.air, rates.self_30d, rates.drain
    place, first = air.place[row], int(air.first_day)
    until = max(int(min(np.ceil(end.max()), air.end_day)), first + 1)
    sums = _moments(known.fleet.places, first, until)
    fall = r * air.between(row, start, end) + d * (end - start)
    onset, empty = start.copy(), np.where(soc > 0.0, end, start)
    for day, amount in ((onset, soc - ONSET_SOC.value), (empty, soc)):
        (met,) = np.nonzero((amount > 0.0) & (amount < fall))
        day[met] = _crossing(
            air, place[met], start[met], end[met], amount[met], amount[met] / fall[met], Rates(r[met], d[met])
        )
    # short of the onset by a + r K + d t, both from the first day of the totals
    a = ONSET_SOC.value - soc - r * total_at(air.factor, place, air.first_day, start) - d * (start - first)
    square = np.stack([a * a, 2 * a * r, 2 * a * d, r * r, d * d, 2 * r * d], axis=1)
    at_onset, at_empty, at_end = (_sums_at(sums, place, day - first) for day in (onset, empty, end))
    falling = (square * (at_empty - at_onset)).sum(axis=1) / ONSET_SOC.value**2
    flat = at_end[:, 0] - at_empty[:, 0]
    return np.asarray((np.maximum(falling, 0.0) + flat) / DAYS_PER_WEEK)


def _crossing(
    air: Air, place: Ints, start: Floats, end: Floats, amount: Floats, share: Floats, rates: Rates
) -> Floats:
    """The day (k,) between ``start`` and ``end`` when ``amount`` is gone, a ``share`` of what is by the end:
    Newton's steps, halving where one leads out."""
    least, most, last = start, end, air.factor.shape[1] - 2
    begun = total_at(air.factor, place, air.first_day, start)
    day = start + (end - start) * share
    for _ in range(STEPS):
        offset = day - air.first_day
        whole = np.minimum(offset.astype(np.int64), last)
        left, right = air.factor[place, whole], air.factor[place, whole + 1]
        speed = rates.self_30d * (right - left) + rates.drain
        over = rates.self_30d * (left + (right - left) * (offset - whole) - begun)
        over += rates.drain * (day - start) - amount
        least, most = np.where(over > 0.0, least, day), np.where(over > 0.0, day, most)
        step = day - np.divide(over, speed, out=np.full_like(over, np.inf), where=speed > 0.0)
        day = np.where((step >= least) & (step <= most), step, (least + most) / 2.0)
    return np.asarray(day)


def _sums_at(sums: Floats, place: Ints, offset: Floats) -> Floats:
    """The totals (k, 6) at days after the first, straight between whole days."""
    whole = np.minimum(offset.astype(np.int64), sums.shape[1] - 2)
    left = sums[place, whole]
    return np.asarray(left + (sums[place, whole + 1] - left) * (offset - whole)[:, None])


@lru_cache(maxsize=LAST_TOTALS)
def _moments(places: Sequence[Place], first: int, end: int) -> Floats:
    """Running totals (p, d+1, 6) of g, K g, t g, K² g, t² g and K t g; K and t from ``first``, at midday."""
    speed = np.diff(totals(places, hardening_speed, first, end), axis=1)
    factor = totals(places, factor_days, first, end)
    k, t = (factor[:, 1:] + factor[:, :-1]) / 2.0, np.arange(end - first) + 0.5
    each = [running(speed * by) for by in (np.ones_like(speed), k, t, k * k, t * t, k * t)]
    return np.ascontiguousarray(np.stack(each, axis=-1))
