"""Loggers of the demo barn: the Winter Room's is accepted, two others wait to be looked at.

The figures are invented; each file is written as a logger writes it and read as anybody's is.
"""

import math
import random
from collections.abc import Iterator
from datetime import datetime, timedelta

from collection.care.actions.record import Edit
from collection.demo.diary import Diary
from collection.demo.places import VALLEY
from collection.loggers.actions.files import take_file
from collection.loggers.actions.measured_air import accept_air
from collection.models import Person, Site, Vehicle

HOUR = timedelta(hours=1)
SET_C, DRY_PCT = 9.0, 49.0
LOST = (900, 1010)  # hours of the file outdoors that the logger missed: its cell froze


def add_loggers(site: Site, car: Vehicle, by: Person, diary: Diary) -> None:
    """One logger's file inside, accepted; one outdoors and one of volts, only read."""
    chance = random.Random("loggers")  # noqa: S311 - invented weather
    begin = (diary.now - timedelta(days=300)).replace(hour=0, minute=0, second=0, microsecond=0)
    room = site.buildings.get(name="Winter Room")
    inside = take_file(
        place=room,
        name="winter-room.csv",
        data=_file(_room(begin, chance)),
        by=by,
        now=diary.now,
        instrument="No. 3, on the pillar at W6",
    )
    accept_air(file=inside.file, edit=Edit(by, diary.now), today=diary.today)
    take_file(
        place=site,
        name="north-wall.csv",
        data=_file(_valley(begin, chance)),
        by=by,
        now=diary.now,
        instrument="No. 1, north wall",
    )
    take_file(place=car, name="battery-km1091.csv", data=_volts(begin, chance), by=by, now=diary.now)


def _file(rows: Iterator[tuple[datetime, float, float]]) -> bytes:
    lines = [f"{moment:%d/%m/%Y %H:%M};{warm:.1f};{damp:.1f}" for moment, warm, damp in rows]
    return "\n".join(["Date/Time (UTC);Temp (°C);RH (%)", *lines, ""]).encode()


def _room(begin: datetime, chance: random.Random) -> Iterator[tuple[datetime, float, float]]:
    for hour in range(298 * 24):
        moment = begin + hour * HOUR
        warm = max(SET_C, VALLEY[moment.month - 1][0] + 2.0) + chance.uniform(-0.3, 0.3)
        yield moment, warm, DRY_PCT + chance.uniform(-2, 2)


def _valley(begin: datetime, chance: random.Random) -> Iterator[tuple[datetime, float, float]]:
    front = 0.0
    for hour in range(298 * 24):
        moment = begin + hour * HOUR
        mean, low, high, damp = VALLEY[moment.month - 1]
        front = 0.98 * front + chance.uniform(-0.5, 0.5)
        day = math.cos(2 * math.pi * (moment.hour - 14) / 24)
        if not LOST[0] <= hour < LOST[1]:
            yield moment, mean + front + day * (high - low) / 2, min(damp - 8 * day, 100.0)


def _volts(begin: datetime, chance: random.Random) -> bytes:
    """A hundred days of a standing car: a slow fall, a lamp left on in the seventh week, a charge."""
    lines, level = ["Time (UTC),Battery (V)"], 12.66
    for step in range(100 * 144):
        moment, day = begin + step * HOUR / 6, step / 144
        level -= 0.0025 / 144 + (0.25 / 72 if 44 <= day < 44.5 else 0.0)
        if 62 <= day < 62.5:
            level, shown = 12.66, 14.4
        else:
            since = (day - 62.5) * 24
            shown = level + (0.4 * math.exp(-since / 3) if since >= 0 else 0.0)
        lines.append(f"{moment:%Y-%m-%d %H:%M:%S},{shown + chance.uniform(-0.004, 0.004):.3f}")
    return "\n".join([*lines, ""]).encode()
