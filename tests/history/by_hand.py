"""How each duty was kept, counted day by day and duty by duty without any array: slow, and plain to read."""

from collections import Counter
from dataclasses import dataclass, field
from datetime import timedelta

import numpy as np
from django.utils.timezone import localtime

from collection.care.queries.care import day_of
from collection.due.queries.intervals import answered
from collection.history.queries.history import whole_log
from collection.life.core.gather import gather_days
from collection.life.core.once import cached_reads
from collection.life.settings import Settings
from scheduler.duties.policy import Policy
from scheduler.duties.table import BY_NAME

DAY = timedelta(days=1)


@dataclass
class Tally:
    """What the history tells of one duty."""

    asked: int = 0
    in_window: int = 0
    late: int = 0
    total_days: int = 0
    longest_days: int = 0
    still_days: int = 0
    held_days: int = 0
    ended: Counter = field(default_factory=Counter)


def count_by_hand(car, code, first, last):
    """One duty from ``first``, after the day of the first entry, to ``last``."""
    log = whole_log(car)
    written = [(_known_on(entry, log), entry) for entry in log if entry.kind != "withdrawn"]
    tally, beyond, waiting = Tally(), 0, False
    with cached_reads():
        today = first
        while today <= last:
            state = _state(car, code, known=today - DAY, day=today)
            after = _state(car, code, known=today, day=today if today == last else today + DAY)
            of_today = [entry for day, entry in written if day == today]
            tally.held_days += state == "on hold"
            if state in ("asked", "late"):
                if not waiting:
                    waiting, beyond = True, 0
                    tally.asked += 1
                beyond += state == "late"
                tally.total_days += state == "late"
                ending = _ending(code, of_today, after, is_last=today == last)
                if ending:
                    waiting = False
                    tally.ended[ending] += 1
                    tally.late += beyond > 0
                    tally.in_window += ending == "care" and not beyond
                    tally.longest_days = max(tally.longest_days, beyond)
                    tally.still_days = beyond if ending == "open" else 0
            today += DAY
    return tally


def _known_on(entry, log):
    """The day of its doing; of its writing where that came late or set another right."""
    opened = min(each.recorded_at for each in log)
    late = entry.recorded_at - entry.done_at > 2 * DAY and entry.done_at >= opened
    return localtime(entry.recorded_at).date() if late or entry.corrects_id else day_of(entry)


def _state(car, code, *, known, day):
    limits = Settings(car.organisation_id).known_on(known).thresholds_on(known)
    fleet = gather_days(car.pk, [known]).fleet
    window = BY_NAME[code].window(fleet, float(day.toordinal()), Policy(**limits))
    due, late, hold = window.due[0], window.late[0], window.hold[0]
    if np.isnan(due) or int(due) > day.toordinal():
        return "not asked"
    if hold >= 0:
        return "on hold"
    return "late" if not np.isnan(late) and int(late) < day.toordinal() else "asked"


def _ending(code, of_today, after, *, is_last):
    still = after in ("asked", "late")
    if any(answered(entry) == code for entry in of_today):
        return "care"
    if still:
        return "open" if is_last else ""
    if after == "on hold":
        return "hold"
    if any(entry.kind == "moved" and not entry.details.get("wheels_only") for entry in of_today):
        return "move"
    return "other care" if of_today else "passed"
