"""Where each tyre starts and how fast it leaks."""

from dataclasses import dataclass

import numpy as np

from scheduler.duties.conditions import Bools, Fleet, Floats, Ints
from scheduler.duties.fluids import anchors
from scheduler.duties.tyres.leaks import Pressures, Warmth, last, leaks, pressures, warmth
from scheduler.duties.windows import Day

UNSAID_PLACARD_KPA = 220.0  # policy: stands in where neither placard nor reading is known


@dataclass(frozen=True)
class Course:
    """Each tyre's start and leak: gauge kPa at 20 °C and day (n, p), leak (3, n, p) a day at 20 °C."""

    kpa: Floats
    day: Floats
    leak: Floats
    used: Ints  # readings that taught the leak, (n, p)
    unread: Bools  # no reading of the car, (n,)
    unknown: Bools  # nor a date to reckon from, (n,)
    placard_kpa: Floats  # (n,)
    warm: Warmth
    read: Pressures


def placards(fleet: Fleet, kpa: Floats) -> Floats:
    """Each car's placard, (n,); one that is not recorded is taken from its highest last reading."""
    placard = np.where(np.isnan(fleet.placard_kpa), np.fmax.reduce(kpa, axis=1), fleet.placard_kpa)
    return np.where(np.isnan(placard), UNSAID_PLACARD_KPA, placard)


def course(fleet: Fleet, today: Day) -> Course:
    """Where each tyre starts and how fast it leaks; a car never read starts from its lay-up."""
    read = pressures(fleet, today)
    kpa, day = last(fleet, read)
    placard, unread, (anchor, which) = placards(fleet, kpa), _unread(kpa), anchors(fleet)
    kpa[unread, 0] = placard[unread]
    day[unread, 0] = np.where(which < 0, today, anchor)[unread]
    earliest = float(np.min(today))
    warm = warmth(fleet, min(np.nanmin(day, initial=earliest), read.day.min(initial=earliest)))
    leak, used = leaks(fleet, read, warm)
    unknown = unread & (which < 0)
    return Course(kpa, warm.within(day), leak, used, unread, unknown, placard, warm, read)


def _unread(kpa: Floats) -> Bools:
    return np.asarray(np.isnan(kpa).all(axis=1))
