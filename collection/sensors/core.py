"""The door to the core for sensors: readings as rows, rows as hours, a car's volts as what they show."""

from collections.abc import Iterable, Sequence
from datetime import datetime

import numpy as np

from collection.loggers.core.stream import Battery, proposals
from scheduler.loggers import Cleaned, Hours, clean, hours_of, joined
from scheduler.loggers.resting import LONGEST_APART_D, NOMINAL_V, STEP_V
from scheduler.vocabulary.sensed import SENSED_BY_CODE

Row = tuple[str, datetime, float]  # quantity, moment, value
__all__ = ["air_hours", "joined", "shown_by_volts", "worth_logging"]


def air_hours(rows: Iterable[Row], columns: Sequence[str]) -> Hours | None:
    """The hours of readings, a column a quantity; None where the first column has none."""
    cleaned = _cleaned(rows, columns)
    return hours_of(cleaned.second, cleaned.value) if cleaned.second.size else None


def shown_by_volts(rows: Iterable[Row], battery: Battery) -> dict[str, list[dict[str, object]]]:
    """Readings, charges and falls, as ``loggers`` proposes them; none for fewer than two rows."""
    cleaned = _cleaned(rows, ("volts", "temperature"))
    if cleaned.second.size < 2:
        return {"readings": [], "charges": [], "falls": []}
    return proposals(cleaned, hours_of(cleaned.second, cleaned.value), battery)


def worth_logging(volts: float, last: float | None, days_since: float, system_volts: float) -> bool:
    """Whether a rested reading says more than the last one that was logged: see ``scheduler.loggers``."""
    step = STEP_V * system_volts / NOMINAL_V
    return last is None or abs(volts - last) >= step or days_since >= LONGEST_APART_D


def _cleaned(rows: Iterable[Row], columns: Sequence[str]) -> Cleaned:
    """Rows with the first column's value; the others are taken from the same minute, else missing."""
    table: dict[float, list[float]] = {}
    for quantity, at, value in rows:
        if quantity in columns:
            second = at.replace(second=0, microsecond=0).timestamp()
            table.setdefault(second, [np.nan] * len(columns))[columns.index(quantity)] = value
    kept = {second: values for second, values in table.items() if not np.isnan(values[0])}
    low, high = np.array([(SENSED_BY_CODE[c].low, SENSED_BY_CODE[c].high) for c in columns]).T
    values = np.array(list(kept.values()), float).reshape(-1, len(columns)).T
    return clean(np.array(list(kept), float), values, low, high)
