"""How each duty was kept over the period, in numbers and in words."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from collection.care.queries.care import day_of
from collection.due.queries.intervals import answered
from collection.history.core.past import DutyPast, Past
from collection.history.scope import Scope
from collection.life.duties import DUTY_TITLES
from collection.models import Entry

ENDED_BY = {"other care": "other care", "move": "a move", "hold": "a hold"}


@dataclass(frozen=True)
class Kept:
    """One duty over the period, by what was known on each day.

    Of the times ``asked``, ``in_window`` were answered in time and ``late`` went beyond the window, whatever
    ended them. ``done`` counts every care of the duty. ``by_now_days``: days beyond by what is known now.
    """

    duty: str
    title: str
    asked: int
    done: int
    in_window: int
    late: int
    longest_days: int
    total_days: int
    still_days: int  # of these, days late now
    by_now_days: int
    held_days: int
    hold: str
    unknown_days: int
    ended: tuple[tuple[str, int], ...]

    @property
    def words(self) -> str:
        """How it was kept, in words."""
        return "; ".join(self._clauses())

    def _clauses(self) -> Iterator[str]:
        if self.asked:
            yield from self._when_asked()
        elif self.done:
            yield "done before it was asked for"
        elif not (self.held_days or self.unknown_days):
            yield "not asked for yet"
        if self.by_now_days != self.total_days:
            yield f"by what is known now {count_days(self.by_now_days)} beyond"
        if self.held_days:
            yield f"due but on hold for {count_days(self.held_days)}: {self.hold}"
        if self.unknown_days and not self.asked:
            yield f"not known for {count_days(self.unknown_days)}"

    def _when_asked(self) -> Iterator[str]:
        if self.in_window == self.asked:
            yield "in its window each time"
            return
        if self.total_days:
            several = self.late > 1
            most = f", at most {self.longest_days} at a time" if several else ""
            yield f"{count_days(self.total_days)} beyond its window{' in all' if several else ''}{most}"
        else:
            yield "never beyond its window"
        ended = dict(self.ended)
        yield from (f"{ended[code]} × ended by {words}" for code, words in ENDED_BY.items() if code in ended)
        if "passed" in ended:
            yield f"{ended['passed']} × the need passed without care"
        if "open" in ended:
            yield f"late now by {count_days(self.still_days)}" if self.still_days else "asked for now"


def count_days(days: int) -> str:
    """A number of days in words."""
    return f"{days:,} day{'' if days == 1 else 's'}"


def kept(past: Past, entries: Sequence[Entry], scope: Scope) -> list[Kept]:
    """Each duty that was done, asked for, on hold or not known; ``entries`` are the standing ones."""
    done = Counter(answered(entry) for entry in entries if scope.covers(day_of(entry)))
    return [_kept(duty, done[duty.duty]) for duty in past.duties]


def _kept(past: DutyPast, done: int) -> Kept:
    return Kept(
        past.duty,
        DUTY_TITLES[past.duty],
        past.asked,
        done,
        past.in_window,
        past.late,
        past.longest_days,
        past.beyond_days,
        past.open_days,
        past.beyond_by_now,
        past.held_days,
        past.hold,
        past.unknown_days,
        past.ended,
    )
