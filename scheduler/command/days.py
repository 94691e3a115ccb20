"""Day numbers as dates, and where a day lies from today."""

from datetime import date

import numpy as np
import numpy.typing as npt

from scheduler.command.answers import ACT_NOW, LATER, THIS_MONTH, THIS_WEEK, Range
from scheduler.duties.windows import Floats

HARM_NEAR_DAYS, WEEK_DAYS, MONTH_DAYS = 3, 7, 30
A_BREATH = 1e-6  # of a day: what adding up many days may lack of a whole one


def whole(day: npt.ArrayLike) -> Floats:
    """The day in which a moment lies, any shape; NaN stays NaN."""
    return np.asarray(np.floor(np.asarray(day, float) + A_BREATH))


def as_date(day: float) -> date | None:
    """A day number as a date; None for never, and beyond the calendar."""
    if np.isnan(day) or not date.min.toordinal() <= day <= date.max.toordinal():
        return None
    return date.fromordinal(int(whole(day)))


def state_by(last: date | None, on: date) -> str:
    """How soon waiting does harm, from the last day before it; never is later."""
    if last is None or (ahead := (last - on).days) > MONTH_DAYS:
        return LATER
    if ahead > WEEK_DAYS:
        return THIS_MONTH
    return THIS_WEEK if ahead > HARM_NEAR_DAYS else ACT_NOW


def spread_of(values: Floats, scale: float = 1.0, digits: int = 1) -> Range:
    """Three ``values`` (3,) as low, likely and high; NaN never comes here."""
    low, likely, high = (round(float(value) * scale, digits) for value in np.sort(values))
    return Range(low=low, likely=likely, high=high)
