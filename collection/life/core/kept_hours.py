"""Hours as rows of the database and back: a row a day, lists by hour."""

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any

import numpy as np

from collection.models import LoggerDay, LoggerFile
from scheduler.loggers import Hours, joined

EPOCH = date(1970, 1, 1)
HOURS_A_DAY = 24
DIGITS = 3
COLUMNS = ("mean", "least", "most")


def as_days(file: LoggerFile, hours: Hours) -> list[LoggerDay]:
    """The rows to be stored."""
    day, at = np.divmod(hours.hour, HOURS_A_DAY)
    edge = np.flatnonzero(np.diff(day, prepend=day[:1] - 1))
    made = []
    for begin, end in zip(edge, [*edge[1:], day.size], strict=True):
        part = slice(begin, end)
        facts: dict[str, Any] = {"hour": at[part].tolist(), "covered": _plain(hours.covered[part])}
        for name in COLUMNS:
            facts[name] = [_plain(column[part]) for column in getattr(hours, name)]
        made.append(LoggerDay(file=file, day=EPOCH + timedelta(days=int(day[begin])), hours=facts))
    return made


def _plain(column: Any) -> list[float | None]:
    return [None if np.isnan(x) else round(float(x), DIGITS) for x in column]


def hours_of_days(days: Iterable[LoggerDay]) -> Hours | None:
    """The hours of one file's rows, which must come in order; None where there are none."""
    rows = list(days)
    if not rows:
        return None
    hour = np.concatenate(
        [np.array(row.hours["hour"], np.int64) + (row.day - EPOCH).days * HOURS_A_DAY for row in rows]
    )
    columns = (np.concatenate([np.array(row.hours[n], float) for row in rows], axis=1) for n in COLUMNS)
    mean, least, most = columns
    return Hours(hour, mean, least, most, np.concatenate([np.array(r.hours["covered"], float) for r in rows]))


def hours_of_files(files: Iterable[LoggerFile]) -> Hours | None:
    """Several files of one place as one, the oldest first; None without any hour."""
    kept = [hours for file in files if (hours := hours_of_days(file.days.all())) is not None]
    return joined(kept) if kept else None
