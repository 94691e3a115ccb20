"""A place's temperature and humidity through the years, day by day.

What happens: the air outside follows the seasons and the day; a roof damps the daily swing, walls
damp it more, heating holds a floor, a dehumidifier holds a ceiling of humidity.
Rates that depend on temperature are averaged over the day's course, never taken at its mean.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

SHELTERS = ("open", "covered", "enclosed", "heated", "humidity_controlled")


@dataclass(frozen=True)
class Place:
    """The daily air at one place, shape (d,) each: day i is ``first_day + i``."""

    name: str
    shelter: str
    first_day: int
    mean_c: Floats
    min_c: Floats
    max_c: Floats
    rh_pct: Floats
