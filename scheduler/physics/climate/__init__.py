"""A place's temperature and humidity through the years, day by day and hour by hour.

What happens: the air outside follows the seasons and the day; a roof damps the daily swing, walls
damp it more and delay it, heating holds a floor, a dehumidifier holds a ceiling of humidity.
Rates that depend on temperature are averaged over the day's course, never taken at its mean.
"""

from scheduler.physics.climate.integral import cumulative, running, totals
from scheduler.physics.climate.kept import daily, once
from scheduler.physics.climate.normals import from_normals
from scheduler.physics.climate.observed import observed
from scheduler.physics.climate.place import Floats, Part, Place, Stays, coldest, courses, hourly, span
from scheduler.physics.climate.shelter import SHELTERS
from scheduler.physics.climate.vapour import saturation_pressure_hpa

__all__ = [
    "SHELTERS",
    "Floats",
    "Part",
    "Place",
    "Stays",
    "coldest",
    "courses",
    "cumulative",
    "daily",
    "from_normals",
    "hourly",
    "observed",
    "once",
    "running",
    "saturation_pressure_hpa",
    "span",
    "totals",
]
