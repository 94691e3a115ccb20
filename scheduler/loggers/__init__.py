"""What a logger wrote down, made fit for the forecasts: cleaned, thinned, read for what it says.

A logger stands for years and writes every minute. Its clock is set wrong, its sensor drops out, its
file is fetched twice. Here its rows become hours, the hours a place's normals, and the volts of a
battery the few readings, charges and falls that they show. Seconds are those since 1970, in UTC
unless said otherwise.
"""

from scheduler.loggers.clean import Cleaned, clean, gaps_of, typical_step
from scheduler.loggers.hourly import Hours, hours_of, joined
from scheduler.loggers.monthly import Monthly, monthly_of, monthly_of_place
from scheduler.loggers.resting import Stream, read_stream
from scheduler.loggers.zone import local_to_utc

__all__ = [
    "Cleaned",
    "Hours",
    "Monthly",
    "Stream",
    "clean",
    "gaps_of",
    "hours_of",
    "joined",
    "local_to_utc",
    "monthly_of",
    "monthly_of_place",
    "read_stream",
    "typical_step",
]
