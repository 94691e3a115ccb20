"""How each duty of a car was kept, each morning as the facts of the evening before had it."""

from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np

from scheduler.command import answers as a
from scheduler.command.air import YEARS_BACK
from scheduler.command.cars import Car
from scheduler.command.fleet import fleet_of
from scheduler.command.record import Record, record_of
from scheduler.duties.policy import Policy
from scheduler.duties.table import DUTIES
from scheduler.duties.windows import NOT_HELD
from scheduler.past import ENDINGS, Days, Waits, count, waits_of
from scheduler.vocabulary.duties import DUTIES as ROWS
from scheduler.vocabulary.duties import duty_answered

CODES = tuple(row.code for row in ROWS)
BLOCK = 1000  # mornings asked at a time
DAY = timedelta(days=1)
HOLD, PASSED, OPEN = (ENDINGS.index(name) for name in ("hold", "passed", "open"))


def past_of(car: Car, on: date, policy: Policy) -> list[a.PastSaid]:
    """The past of one car from the morning after its first fact to a day, or until it left."""
    record = record_of(car, on)
    last = record.left_on or on
    known = [fact.on for fact in car.in_order if fact.on < last]
    if not known:
        return [_silent(code) for code in CODES]
    first = max(known[0] + DAY, date(on.year - YEARS_BACK + 1, 1, 1))
    mornings = [first + n * DAY for n in range((last - first).days + 1)]
    days = _days(car, mornings, on, policy)
    return list(_answers(days, record, waits_of(days), first))


def _silent(code: str) -> a.PastSaid:
    nothing = dict.fromkeys(("asked", "in_time", "late", "days_beyond", "days_on_hold", "days_unknown"), 0)
    return a.PastSaid(duty=code, since=None, ended_by=[], **nothing)


def _days(car: Car, mornings: list[date], on: date, policy: Policy) -> Days:
    """Every duty on every morning and on the last evening, as the facts of the evening before have it."""
    last, evenings = mornings[-1], [*(day - DAY for day in mornings), mornings[-1]]
    dated = [fact.on for fact in car.facts] + [rule.since for rule in car.rules if rule.since]
    changes = sorted({on for on in dated if on <= last})
    state = np.searchsorted(
        [day.toordinal() for day in changes], [day.toordinal() for day in evenings], "right"
    )
    _, first, row = np.unique(state, return_index=True, return_inverse=True)
    records = [record_of(car, evenings[position]) for position in first]
    day = np.array([*(each.toordinal() for each in mornings), last.toordinal()], float)
    due, late, hold = _windows(records, row, day, on, policy)
    away = np.array([record.away for record in records])[row]
    cared, moved, visited = _events(records[-1], mornings)
    known = np.broadcast_to(~away, due.shape)
    return Days(day, due, late, hold != NOT_HELD, known, cared, moved, visited)


def _windows(
    records: list[Record], row: np.ndarray, day: np.ndarray, on: date, policy: Policy
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Due, late and hold (duties, days): each day as its record has it."""
    fleet, parts = fleet_of(records, on), []
    for start in range(0, day.size, BLOCK):
        block = slice(start, start + BLOCK)
        rows = fleet.repeated(row[block])
        windows = [duty.window(rows, day[block], policy) for duty in DUTIES]
        parts.append(
            [np.array([getattr(each, name) for each in windows]) for name in ("due", "late", "hold")]
        )
    due, late, hold = (np.concatenate([part[at] for part in parts], axis=1) for at in range(3))
    return due, late, hold


def _events(record: Record, mornings: list[date]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """On which days care answered each duty (duties, days), the car changed place, anybody wrote of it."""
    shape = (len(CODES), len(mornings))
    cared, moved, visited = np.zeros(shape, bool), np.zeros(shape[1], bool), np.zeros(shape[1], bool)
    for entry in record.entries:
        at = (entry.on - mornings[0]).days
        if 0 <= at < shape[1]:
            visited[at] = True
            moved[at] |= entry.changed_place
            if duty := duty_answered(entry.kind, entry.details):
                cared[CODES.index(duty), at] = True
    return cared, moved, visited


def _answers(days: Days, record: Record, waits: Waits, first: date) -> Iterator[a.PastSaid]:
    counts = count(days, waits)
    for row, code in enumerate(CODES):
        own = np.flatnonzero((waits.duty == row) & (waits.ending != OPEN))
        yield a.PastSaid(
            duty=code,
            since=first,
            asked=int(counts.asked[row]),
            in_time=int(counts.in_window[row]),
            late=int(counts.late[row]),
            days_beyond=int(counts.beyond_days[row]),
            days_on_hold=int(counts.held_days[row]),
            days_unknown=int(counts.unknown_days[row]),
            ended_by=[_ended(record, code, waits, int(at)) for at in own],
        )


def _ended(record: Record, code: str, waits: Waits, at: int) -> a.Ended:
    """What ended one wait: the care that answers it, else what was done that day, a hold, or nothing."""
    on, ending = date.fromordinal(int(waits.until[at])), int(waits.ending[at])
    if ending in (HOLD, PASSED):
        return a.Ended(on=on, kind="on_hold" if ending == HOLD else ENDINGS[PASSED])
    that_day = [entry for entry in record.entries if entry.on == on]
    answers = [entry for entry in that_day if duty_answered(entry.kind, entry.details) == code]
    return a.Ended(on=on, kind=(answers or that_day)[-1].kind)
