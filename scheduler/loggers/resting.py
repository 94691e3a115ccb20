"""A battery's volts, minute by minute, as the few things they show: charges, rest, falls.

On charge the volts stand above what any rested battery of its kind shows. Under load they move. At
rest, hours after either, they follow the charge that is in it; only then are they a reading.

Few readings are handed on, although there are thousands: they come from one meter on one battery and
share its fault, so that a thousand say no more than a handful. Learned as if each were new, they would
make a rate certain that is not. One is kept for each twelfth or so of charge that has gone, and the
last; what that does to a learned rate is measured in tests/scheduler/loggers/test_loggers.py.
"""

from dataclasses import dataclass

import numpy as np

from scheduler.loggers.clean import Bools, Floats, Ints
from scheduler.loggers.hourly import HOUR_S, Hours

NOMINAL_V = 12.0  # the policies below are for 12 V and go with the system's volts
# policy: above any such battery at rest (a full sealed lead battery shows 13.0 V, lithium iron 13.4 V)
CHARGING_V = {"lead": 13.2, "lithium": 13.6}
ABSORBED_V, ABSORBED_H = 14.1, 2.0  # policy: a charge that held this for so long ended full
FLOATED_H = 24.0  # policy: a day on any charger fills it
LEAST_CHARGE_H = 1.0  # policy: shorter is a run of the engine, and hardly a charge
MAINTAINED_H = 72.0  # policy: longer is a maintainer, not a charge
JOINED_S = 1800.0  # policy: a maintainer rests between its pulses; within this it is one charge
QUIET_V = 0.08  # policy: a battery at rest moves less within an hour; a lamp draws more
RESTED_H = 12.0  # policy: by then the surface charge is gone; a reading may be used from 3 h (8 h: good)
LONGEST_HOLE_H = 3.0  # policy: what was not seen for longer may have been anything: rest begins anew
STEP_V = 0.08  # policy: about a twelfth of the charge, more than the meter may be wrong by
LEAST_APART_D = 1.0  # policy: at most one a day
LONGEST_APART_D = 91.0  # policy: a quarter, so that the record never falls silent
FALL_V, FALL_D = 0.15, 2.0  # policy: a sixth of the charge in two days is no self-discharge
BEST_HOUR = 6.0  # policy: before dawn nobody is at the car and its temperature stands still
_DAY_S = 24 * HOUR_S


@dataclass(frozen=True)
class Stream:
    """What a file of volts shows; all times are seconds in UTC.

    Readings (r,): ``at``, ``volts``, ``temp_c`` (NaN: not measured), ``rest_h``. Charges (c,): ``begin``,
    ``end``, ``full``, ``maintained`` (longer than a charge), ``running`` (goes on at the file's end).
    Falls (f,): between ``fall_from`` and ``fall_to`` by ``fall_v``. ``candidates``: rested days there were.
    """

    at: Floats
    volts: Floats
    temp_c: Floats
    rest_h: Floats
    begin: Floats
    end: Floats
    full: Bools
    maintained: Bools
    running: Bools
    fall_from: Floats
    fall_to: Floats
    fall_v: Floats
    candidates: int


def read_stream(second: Floats, volts: Floats, hours: Hours, system_volts: float, family: str) -> Stream:
    """Clean rows (n,) of volts and their hours (row 0 volts, row 1 °C) → what they show.

    ``second`` (n,): moments in seconds, rising; ``family`` is lead or lithium; ``system_volts`` 6, 12 or 24.
    """
    scale = system_volts / NOMINAL_V
    begin, end = _charges(second, volts, CHARGING_V[family] * scale)
    full = _ended_full(hours, begin, end, scale)
    last = second[-1] - end <= JOINED_S
    rest = _rest_hours(hours, begin, end, scale)
    day = _a_day_each(hours, rest)
    v, at = hours.mean[0, day], hours.hour[day].astype(np.float64) * HOUR_S + HOUR_S / 2
    spell = np.searchsorted(end, at)  # the charge that it comes after
    kept = _thinned(at, v, spell, scale)
    fall, fallen = _falls(at, v, spell, scale)
    return Stream(
        at[kept],
        v[kept],
        hours.mean[1, day][kept],
        rest[day][kept],
        begin,
        end,
        full,
        (end - begin) >= MAINTAINED_H * HOUR_S,
        last,
        at[fall],
        at[fallen],
        v[fall] - v[fallen],
        int(day.size),
    )


def _charges(second: Floats, volts: Floats, above_v: float) -> tuple[Floats, Floats]:
    """Begins and ends (c,) of the spells above the volts, near ones joined, short ones left out."""
    on = second[volts >= above_v]
    if not on.size:
        return np.empty(0), np.empty(0)
    apart = np.flatnonzero(np.diff(on) > JOINED_S)
    begin, end = on[np.concatenate([[0], apart + 1])], on[np.concatenate([apart, [on.size - 1]])]
    long = end - begin >= LEAST_CHARGE_H * HOUR_S
    return begin[long], end[long]


def _ended_full(hours: Hours, begin: Floats, end: Floats, scale: float) -> Bools:
    """Whether each charge (c,) held its absorbing volts long enough, or lasted long enough to be full."""
    high = np.concatenate([[0], np.cumsum(hours.mean[0] >= ABSORBED_V * scale)])
    first, last = (np.searchsorted(hours.hour, moment / HOUR_S) for moment in (begin, end))
    held = high[np.minimum(last, hours.hour.size)] - high[np.minimum(first, hours.hour.size)]
    return np.asarray((held >= ABSORBED_H) | (end - begin >= FLOATED_H * HOUR_S))


def _rest_hours(hours: Hours, begin: Floats, end: Floats, scale: float) -> Floats:
    """How long (h,) the battery has stood undisturbed at the end of each hour."""
    moment = hours.hour.astype(float)
    moved = (hours.most[0] - hours.least[0] > QUIET_V * scale) | np.isnan(hours.mean[0])
    first, last = np.searchsorted(begin, moment * HOUR_S + HOUR_S), np.searchsorted(end, moment * HOUR_S)
    moved |= first > last  # a charge that began before this hour's end has not ended before its beginning
    hole = np.diff(moment, prepend=moment[:1] - 2 * LONGEST_HOLE_H) > LONGEST_HOLE_H
    since = np.where(moved, moment + 1.0, np.where(hole, moment, -np.inf))
    return np.asarray(moment + 1.0 - np.maximum.accumulate(since))


def _a_day_each(hours: Hours, rest: Floats) -> Ints:
    """Of each day the rested hour nearest to the best: positions in ``hours``, rising."""
    rested = np.flatnonzero(rest >= RESTED_H)
    day, hour = np.divmod(hours.hour[rested], 24)
    order = np.lexsort((np.abs(hour + 0.5 - BEST_HOUR), day))
    _, first = np.unique(day[order], return_index=True)
    return np.asarray(rested[order[first]])


def _thinned(at: Floats, volts: Floats, spell: Ints, scale: float) -> Ints:
    """Positions of the few that are handed on: see the module.

    Each depends on the one kept before it, hence the loop: over days, never over minutes.
    """
    kept: list[int] = []
    for i in range(at.size):
        new_spell = not kept or spell[i] != spell[kept[-1]]
        last = i + 1 == at.size or spell[i + 1] != spell[i]
        if new_spell or _worth_it(at, volts, kept[-1], i, scale, last=last):
            kept.append(i)
    return np.array(kept, np.int64)


def _worth_it(at: Floats, volts: Floats, before: int, i: int, scale: float, *, last: bool) -> bool:
    days = (at[i] - at[before]) / _DAY_S
    gone = abs(volts[before] - volts[i])
    needed = STEP_V / 2 if last else STEP_V  # the last of a spell ends its line, and may say half as much
    return bool(days >= LEAST_APART_D / 2 and (gone >= needed * scale or days >= LONGEST_APART_D))


def _falls(at: Floats, volts: Floats, spell: Ints, scale: float) -> tuple[Ints, Ints]:
    """Between which positions the rested volts fall within two days by what nothing but a load takes."""
    begins: list[int] = []
    ends: list[int] = []
    for apart in (1, 2):  # days are a candidate each, so two days are two of them
        quick = at[apart:] - at[:-apart] <= (FALL_D + LEAST_APART_D / 4) * _DAY_S
        fell = quick & (volts[:-apart] - volts[apart:] >= FALL_V * scale) & (spell[apart:] == spell[:-apart])
        for begin in np.flatnonzero(fell).tolist():
            if all(begin + apart <= b or begin >= e for b, e in zip(begins, ends, strict=True)):
                begins.append(begin)
                ends.append(begin + apart)
    return np.array(sorted(begins), np.int64), np.array(sorted(ends), np.int64)
