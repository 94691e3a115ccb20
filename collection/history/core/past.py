"""How a car was kept over a period: each duty asked of each morning, by what was known of the car then.

What it came to by what is known now (what was written down late, and corrections) is counted beside it.
Each day counts by the intervals, limits and climates that were in force on it. What the record held already
when it was first written down counts from the first, since nobody knows since when.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

import numpy as np

from collection.due.queries.intervals import answered
from collection.life.core.dated import stands_known_from
from collection.life.core.gather import entries_of_car, gather_days, record_of_car, shelters_on
from collection.life.core.log_entries import LogEntry
from collection.life.core.memoised import memoised
from collection.life.core.store import policies_on, runs_of
from collection.life.core.versions import settings_of
from collection.models import CareKind, Entry, Shelter, Vehicle
from scheduler.duties.conditions import Fleet
from scheduler.duties.policy import Policy
from scheduler.duties.table import BY_NAME
from scheduler.duties.windows import NOT_HELD
from scheduler.past import ENDINGS, Counts, Days, Waits, count, waits_of
from scheduler.vocabulary.duties import DUTIES

CODES = tuple(row.code for row in DUTIES)
BLOCK = 1000  # mornings asked at a time; a long log comes with each of them
DAY = timedelta(days=1)


@dataclass(frozen=True)
class Wait:
    """One wait that went beyond its window: the last day of that, what ended it and when, days between."""

    duty: str
    late: date
    until: date
    days: int
    ending: str  # one of ``scheduler.past.ENDINGS``
    hold: str  # the reason where a hold ended it


@dataclass(frozen=True)
class DutyPast:
    """The numbers of one duty (as in ``scheduler.past.Counts``), and what they are by what is known now."""

    duty: str
    asked: int
    in_window: int
    late: int
    beyond_days: int
    longest_days: int
    open_days: int
    held_days: int
    hold: str  # the reason of most of them
    unknown_days: int
    ended: tuple[tuple[str, int], ...]
    beyond_by_now: int


@dataclass(frozen=True)
class Past:
    """Every duty over a period, and the waits beyond a window, oldest first."""

    duties: tuple[DutyPast, ...] = ()
    beyond: tuple[Wait, ...] = ()


def past_of(vehicle: Vehicle, log: Sequence[Entry], *, first: date, last: date) -> Past:
    """The past of one car from ``first`` to ``last``; ``log`` is all of it, corrected entries too.

    ValueError where the record does not allow it.
    """
    told = entries_of_car(vehicle)
    begins = min((one.since for one in told), default=np.inf)  # on the morning after, something is known
    unknown = int(np.clip(begins + 1 - first.toordinal(), 0, (last - first).days + 1))
    known_from = first + unknown * DAY
    if known_from > last:
        return Past(tuple(_unknown(code, unknown) for code in CODES))
    duty = {entry.pk: answered(entry) for entry in log}
    then = _counted(vehicle, _by_then(told, duty), known_from, last, by_now=False)
    if _all_known_then(vehicle, told):
        now = then
    else:
        now = _counted(vehicle, _by_now(told, duty), known_from, last, by_now=True)
    return Past(tuple(_duties(then, now, unknown)), tuple(_beyond(then)))


def _all_known_then(vehicle: Vehicle, told: Sequence[LogEntry]) -> bool:
    """Whether nothing was written down late of the car, its site and its organisation, nor set right."""
    return (
        all(one.since == one.day and one.stands for one in told)
        and all(entry["details"]["opening"] for entry in record_of_car(vehicle).entries)
        and not settings_of(vehicle.organisation_id).tells_late
    )


@dataclass(frozen=True)
class _Event:
    """Something that was written of the car, by the day that counts."""

    day: float
    duty: str
    moved: bool


@dataclass(frozen=True)
class _Counted:
    """The days with what was counted; ``hold`` (duties, days) positions in ``holds`` of each duty."""

    days: Days
    hold: np.ndarray
    holds: tuple[tuple[str, ...], ...]
    waits: Waits
    counts: Counts


def _by_then(told: Sequence[LogEntry], duty: dict[UUID, str]) -> Iterator[_Event]:
    """Each entry on the day from which it was known, also one that was taken back later."""
    for one in told:
        if one.entry["kind"] != CareKind.WITHDRAWN and one.since < one.until:
            yield _event(one, one.since, duty)


def _by_now(told: Sequence[LogEntry], duty: dict[UUID, str]) -> Iterator[_Event]:
    return (_event(one, one.day, duty) for one in told if one.stands)


def _event(one: LogEntry, day: float, duty: dict[UUID, str]) -> _Event:
    moved = one.entry["kind"] == CareKind.MOVED and not one.entry["details"].get("wheels_only")
    return _Event(day, duty[one.entry["id"]], moved)


def _counted(
    vehicle: Vehicle, events: Iterator[_Event], first: date, last: date, *, by_now: bool
) -> _Counted:
    mornings = [first + n * DAY for n in range((last - first).days + 1)]
    day = np.array([*(each.toordinal() for each in mornings), last.toordinal()], float)
    due, late, hold, holds = _windows(vehicle, [*(each - DAY for each in mornings), last], day, by_now)
    known = np.ones(due.shape, bool)
    known[CODES.index("tyre_move")] = day >= stands_known_from(vehicle, record_of_car(vehicle))
    shape = (len(CODES), len(mornings))
    cared, moved, visited = np.zeros(shape, bool), np.zeros(shape[1], bool), np.zeros(shape[1], bool)
    for event in events:
        at = int(event.day - day[0])
        if 0 <= at < shape[1]:
            visited[at], moved[at] = True, moved[at] or event.moved
            if event.duty in CODES:
                cared[CODES.index(event.duty), at] = True
    days = Days(day, due, late, hold != NOT_HELD, known, cared, moved, visited)
    waits = waits_of(days)
    return _Counted(days, hold, holds, waits, count(days, waits))


def _windows(
    vehicle: Vehicle, known: Sequence[date], day: np.ndarray, by_now: bool
) -> tuple[np.ndarray, np.ndarray, np.ndarray, tuple[tuple[str, ...], ...]]:
    """Due, late and hold (duties, days) by what was ``known`` at the end of those days, asked on ``day``."""
    policies, parts = policies_on(vehicle.organisation_id, known, by_now=by_now), []
    for begin, end, policy in runs_of(policies):
        for start in range(begin, end, BLOCK):
            block = slice(start, min(start + BLOCK, end))
            fleet = gather_days(vehicle.pk, known[block], by_now=by_now).fleet
            parts.append(memoised(_asked, fleet, tuple(day[block]), policy))
    due, late, hold = (np.concatenate([part[at] for part in parts], axis=1) for at in range(3))
    return due, late, hold, parts[0][3]


def _asked(
    fleet: Fleet, day: tuple[float, ...], policy: Policy
) -> tuple[np.ndarray, np.ndarray, np.ndarray, tuple[tuple[str, ...], ...]]:
    windows = [BY_NAME[code].window(fleet, np.array(day), policy) for code in CODES]
    due, late, hold = (
        np.array([getattr(each, name) for each in windows]) for name in ("due", "late", "hold")
    )
    return due, late, hold, tuple(each.holds for each in windows)


def _duties(then: _Counted, now: _Counted, unknown: int) -> Iterator[DutyPast]:
    counts = then.counts
    for row, code in enumerate(CODES):
        ended = tuple((name, int(n)) for name, n in zip(ENDINGS, counts.ended[row], strict=True) if n)
        yield DutyPast(
            code,
            int(counts.asked[row]),
            int(counts.in_window[row]),
            int(counts.late[row]),
            int(counts.beyond_days[row]),
            int(counts.longest_days[row]),
            int(counts.open_days[row]),
            int(counts.held_days[row]),
            _hold(then, row),
            int(counts.unknown_days[row]) + unknown,
            ended,
            int(now.counts.beyond_days[row]),
        )


def _hold(then: _Counted, row: int) -> str:
    held = then.hold[row][then.days.wanted[row] & then.days.held[row]]
    return then.holds[row][int(np.bincount(held).argmax())] if held.size else ""


def _unknown(code: str, days: int) -> DutyPast:
    return DutyPast(code, 0, 0, 0, 0, 0, 0, 0, "", days, (), 0)


def _beyond(then: _Counted) -> Iterator[Wait]:
    waits, day = then.waits, then.days.day
    for at in np.lexsort((waits.duty, waits.beyond_since)):
        if waits.beyond_days[at]:
            row, until, ending = int(waits.duty[at]), waits.until[at], ENDINGS[waits.ending[at]]
            after = int(np.searchsorted(day, until, side="right")) if until < day[-1] else len(day) - 1
            yield Wait(
                CODES[row],
                date.fromordinal(int(waits.beyond_since[at]) - 1),
                date.fromordinal(int(until)),
                int(waits.beyond_days[at]),
                ending,
                then.holds[row][then.hold[row, after]] if ending == "hold" else "",
            )


def unseen_days(vehicle: Vehicle, days: Sequence[date]) -> list[float]:
    """The longest that the car might go unseen from each of some days on, by place and limits of that day."""
    policies = policies_on(vehicle.organisation_id, days, by_now=True)
    return [
        policy.inspect_open_days if shelter == Shelter.OPEN else policy.inspect_covered_days
        for policy, shelter in zip(policies, shelters_on(vehicle, days), strict=True)
    ]
