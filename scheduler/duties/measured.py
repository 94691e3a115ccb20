"""The newest usable reading of a kind for each car."""

from dataclasses import dataclass

import numpy as np

from scheduler.duties.conditions import READING_KINDS, Fleet, Floats
from scheduler.duties.windows import Day, each_row


@dataclass(frozen=True)
class Newest:
    """Value and day of each car's newest reading, shape (n,), NaN for none; how many were refused."""

    value: Floats
    day: Floats
    refused: int


def newest(fleet: Fleet, kind: str, since: Floats, today: Day, low: float, high: float) -> Newest:
    """The newest reading of ``kind`` in ``low`` to ``high``, from ``since`` (n,; NaN: any) to today."""
    table = fleet.readings
    timely = (table.kind == READING_KINDS.index(kind)) & (table.day <= each_row(today, len(fleet))[table.row])
    timely &= ~(table.day < since[table.row])
    usable = timely & (table.value >= low) & (table.value <= high)
    picked = np.flatnonzero(usable)
    picked = picked[np.argsort(table.day[picked], kind="stable")]
    value, day = np.full(len(fleet), np.nan), np.full(len(fleet), np.nan)
    value[table.row[picked]], day[table.row[picked]] = table.value[picked], table.day[picked]
    return Newest(value, day, int(timely.sum() - usable.sum()))
