"""What one reading would be worth: by how many days it would narrow a window that is wide.

Rule (policy): a window is wide where it spans more than a third of the time from the last doing, else from
the lay-up, to the likely day. The reading is supposed to say what the forecast expects: of many values that
could be read today, the one that moves the likely day least. So what is promised is what happens where the
forecast was right.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from scheduler.duties.conditions import READING_KINDS, Bools, Fleet, Floats, Readings
from scheduler.duties.last_done import last_done
from scheduler.duties.own_rules import NOT_BEFORE, OWN_INTERVAL
from scheduler.duties.policy import Policy
from scheduler.duties.table import BY_NAME
from scheduler.duties.windows import NOT_HELD, DutyWindow
from scheduler.duties.words import one_car
from scheduler.vocabulary.duties import DUTY, Duty
from scheduler.vocabulary.quantities import QUANTITY, Quantity

WIDE_SHARE = 1 / 3
RESTED_H = 24.0  # a battery is read as it stands: nobody has driven or charged it
COARSE, FINE = 481, 41  # values tried over all that can be read, then about the best of them
SAME_DAYS = 0.5  # likely days so near are one
WORTH_SHARE = 0.1  # policy: less of the window is not worth a walk


@dataclass(frozen=True)
class Narrowing:
    """A reading that is worth it: of what, which value, minutes at the car, the window before and after."""

    quantity: str
    value: float
    minutes: int
    width_days: float
    narrowed_days: float


def narrowing(fleet: Fleet, duty: str, today: float, policy: Policy) -> Narrowing | None:
    """The one reading that would narrow the wide window of a duty most; None where none would, or none need.

    ``fleet`` holds a single car (BadInput otherwise), ``today`` is an ordinal.
    """
    row = DUTY[duty]
    window = BY_NAME[duty].window(one_car(fleet), today, policy)
    if not (window.late[0] > today and _is_wide(fleet, row, window)):
        return None  # what is late is done, not measured
    width = float(window.late[0] - window.early[0])
    readings = [_reading(fleet, row, QUANTITY[code], window, today, policy) for code in row.measured_by]
    worth = [each for each in readings if each and width - each.narrowed_days > WORTH_SHARE * width]
    return min(worth, key=lambda each: (each.narrowed_days, each.minutes), default=None)


def _is_wide(fleet: Fleet, row: Duty, window: DutyWindow) -> bool:
    limit = window.limits[window.limit[0]] if window.limit[0] >= 0 else ""
    if window.hold[0] != NOT_HELD or limit in (OWN_INTERVAL, NOT_BEFORE):
        return False
    done = last_done(fleet, row)[0]
    interval = window.due[0] - (fleet.stored_since[0] if np.isnan(done) else done)
    return bool(window.late[0] - window.early[0] > WIDE_SHARE * interval)  # never where a day is unknown


def _reading(
    fleet: Fleet, row: Duty, quantity: Quantity, window: DutyWindow, today: float, policy: Policy
) -> Narrowing | None:
    low, high = quantity.low, quantity.high
    for values in (COARSE, FINE):
        tried = np.linspace(low, high, values)
        after = BY_NAME[row.code].window(with_reading(fleet, quantity, tried, today), today, policy)
        off = np.where(np.isfinite(after.late - after.early), np.abs(after.due - window.due[0]), np.inf)
        off = np.where((after.hold == NOT_HELD) & ~_ignored(after, window), off, np.inf)
        if not np.isfinite(off).any():
            return None
        alike = np.flatnonzero(off <= off.min() + SAME_DAYS)
        best, step = int(alike[len(alike) // 2]), tried[1] - tried[0]
        low, high = max(quantity.low, tried[best] - step), min(quantity.high, tried[best] + step)
    width = float(window.late[0] - window.early[0])
    narrowed = float(after.late[best] - after.early[best])
    return Narrowing(quantity.code, float(tried[best]), quantity.minutes, width, narrowed)


def _ignored(after: DutyWindow, window: DutyWindow) -> Bools:
    """Rows (k,) in which a reading changed nothing: no sound car shows it, so that it is not believed."""
    same = [getattr(after, name) == getattr(window, name)[0] for name in ("early", "due", "late")]
    return np.asarray(np.all(same, axis=0))


def with_reading(fleet: Fleet, quantity: Quantity, values: Floats, today: float) -> Fleet:
    """One car as many, a row for each of the ``values`` (k,) that today's reading may show, in its unit."""
    each = fleet.repeated(np.zeros(len(values), np.int64))
    added = list(_rows(quantity, values, today))
    readings = {
        name: np.concatenate([getattr(each.readings, name), np.array([row[at] for row in added], kind)])
        for at, (name, kind) in enumerate(COLUMNS)
    }
    return replace(each, readings=Readings(**readings))


COLUMNS = (
    ("row", np.int64),
    ("day", float),
    ("kind", np.int64),
    ("value", float),
    ("temperature_c", float),
    ("rest_hours", float),
    ("position", np.int64),
)


def _rows(quantity: Quantity, values: Floats, today: float) -> Iterator[tuple[float, ...]]:
    """A row of the table of readings for each value and place: wheel by wheel where it has places."""
    kind = READING_KINDS.index(quantity.code)
    places = range(len(quantity.everywhere)) if quantity.needs_position else (-1,)
    for row, value in enumerate(values):
        for place in places:
            yield row, today, kind, value, np.nan, RESTED_H, place
