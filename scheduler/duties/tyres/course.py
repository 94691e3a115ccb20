"""Where each tyre starts and how fast it leaks."""

from dataclasses import dataclass, replace

import numpy as np

from scheduler.duties.conditions import Bools, Fleet, Floats
from scheduler.duties.fluids import anchors
from scheduler.duties.learning import NINETY_PERCENT_SD
from scheduler.duties.tyres.leaks import LIKELY, LOW, Lines, Warmth, are_old, lines, warmth
from scheduler.duties.tyres.readings import Pressures, pressures
from scheduler.duties.windows import Day
from scheduler.physics.tyres.pressure import days_to_fall_to
from scheduler.physics.tyres.tyres import LAID_UP_SHARE

UNSAID_PLACARD_KPA = 220.0  # policy: stands in where neither placard nor reading is known


@dataclass(frozen=True)
class Course:
    """Each tyre's line, from its readings or from the lay-up at placard, shape (n, p); see ``Lines``."""

    line: Lines
    unread: Bools  # no reading of the car, (n,)
    unknown: Bools  # nor a date to reckon from, (n,)
    old: Bools  # tyres that leak as old ones do, (n,)
    placard_kpa: Floats  # (n,)
    warm: Warmth
    read: Pressures

    def days_until(self, limit_kpa: Floats, case: int) -> Floats:
        """Days at 20 °C from each tyre's day until it is down to ``limit_kpa`` (n, 1), in one case: (n, p).

        The slow and the fast case are as far apart as leak and gauge together may be off: the leak turns the
        line about the middle of its readings, the gauge lifts or lowers it; and a lone last reading away from
        its line may be a slip.
        """
        line = self.line
        likely = days_to_fall_to(line.kpa, limit_kpa, line.leak[LIKELY])
        if case == LIKELY:
            return likely
        middle_kpa = line.kpa * np.exp(line.leak[LIKELY] * line.ahead)
        turned = days_to_fall_to(middle_kpa, limit_kpa, line.leak[case]) - line.ahead - likely
        slip = np.maximum(-line.rise if case == LOW else line.rise, 0.0)
        lifted = np.hypot(NINETY_PERCENT_SD * line.level_sd, slip) / line.leak[LIKELY]
        apart = np.hypot(turned, lifted)
        return np.asarray(np.maximum(likely + (apart if case == LOW else -apart), 0.0))


def placards(fleet: Fleet, kpa: Floats) -> Floats:
    """Each car's placard, (n,); one that is not recorded is taken from its highest last reading."""
    placard = np.where(np.isnan(fleet.placard_kpa), np.fmax.reduce(kpa, axis=1), fleet.placard_kpa)
    return np.where(np.isnan(placard), UNSAID_PLACARD_KPA, placard)


def course(fleet: Fleet, today: Day) -> Course:
    """Where each tyre stands and how fast it leaks; a car never read starts from its lay-up."""
    read, (anchor, which) = pressures(fleet, today), anchors(fleet)
    begin = np.where(which < 0, today, anchor)
    earliest = float(np.min(today))
    warm = warmth(fleet, min(np.nanmin(begin, initial=earliest), read.day.min(initial=earliest)))
    old = are_old(fleet, today)
    line = lines(fleet, read, warm, old)
    placard, unread = placards(fleet, line.kpa), _unread(line.kpa)
    laid_up = unread[:, None] & (np.arange(read.places) == 0)
    line = replace(
        line,
        kpa=np.where(laid_up, placard[:, None], line.kpa),
        day=warm.within(np.where(laid_up, begin[:, None], line.day)),
        ahead=np.where(laid_up, 0.0, line.ahead),
        level_sd=np.where(laid_up, LAID_UP_SHARE.value, line.level_sd),
        rise=np.where(laid_up, 0.0, line.rise),
    )
    return Course(line, unread, unread & (which < 0), old, placard, warm, read)


def _unread(kpa: Floats) -> Bools:
    return np.asarray(np.isnan(kpa).all(axis=1))
