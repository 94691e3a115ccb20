"""The last and the next year of a car in five strips: charge, fuel, tyres, air, care."""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from collection.care.queries.care import day_of
from collection.drawing.days import format_day
from collection.drawing.strips import Days, Strip, bar, done
from collection.due.cells import DUTIES_OF
from collection.due.core.air import air_around
from collection.due.core.curves import Band, curves
from collection.due.curve_strips import air_strip, curve_shapes, with_curves
from collection.due.curve_words import known_on, scale_of, words_of_today
from collection.life.duties import DutyLine
from collection.models import Entry, Vehicle
from collection.web.units import Edge
from scheduler.vocabulary.duties import DUTY

YEAR = timedelta(days=365)


def strips_of(
    vehicle: Vehicle, lines: Sequence[DutyLine], entries: Sequence[Entry], *, today: date, reader: Edge
) -> list[Strip]:
    """The five strips; ``entries`` are what was done since a year. ValueError where the record forbids it."""
    days = Days(today - YEAR, today + YEAR)
    drawn = {
        each.duty: each.band
        for each in curves(vehicle, with_curves(), first=days.first, last=days.last, today=today)
    }
    air = air_around(vehicle, first=days.first, last=days.last, today=today)
    car = _CarStrips(days, lines, entries, today)
    return [
        car.strip("battery", "Charge", drawn, reader),
        car.strip("fuel", "Fuel", drawn, reader),
        car.strip("tyres", "Tyres", drawn, reader),
        air_strip(days, air, today),
        car.care(),
    ]


class _CarStrips:
    """What every strip of one car needs."""

    def __init__(self, days: Days, lines: Sequence[DutyLine], entries: Sequence[Entry], today: date) -> None:
        self.days, self.lines, self.entries, self.today = days, lines, entries, today

    def strip(self, part: str, title: str, drawn: dict[str, Band], reader: Edge) -> Strip:
        """One part of the car: its curve where it has one, its windows, the care that answers them."""
        curve = next((drawn[duty] for duty in DUTIES_OF[part] if duty in drawn), None)
        lines = [line for line in self.lines if line.duty in DUTIES_OF[part]]
        kinds = {answer.care for line in lines for answer in DUTY[line.duty].answered_by}
        entries = [entry for entry in self.entries if entry.kind in kinds]
        words = self._words(lines, entries)
        shapes = {}
        if curve and known_on(curve, self.today) is not None:
            words = f"{words_of_today(curve, scale_of(curve.unit, reader), self.today)} {words}"
            shapes = curve_shapes(self.days, curve)
        return self._strip(part, title, words, lines, entries, shapes)

    def care(self) -> Strip:
        """Everything that was done, and the duties that no other strip shows."""
        elsewhere = {duty for part in ("battery", "fuel", "tyres") for duty in DUTIES_OF[part]}
        lines = [line for line in self.lines if line.duty not in elsewhere]
        return self._strip("care", "Care", self._words([], self.entries), lines, self.entries, {})

    def _strip(
        self,
        key: str,
        title: str,
        words: str,
        lines: Iterable[DutyLine],
        entries: Iterable[Entry],
        shapes: dict[str, object],
    ) -> Strip:
        bars = [
            bar(self.days, (line.early, line.due, line.late), line.state, line.title)
            for line in lines
            if not line.hold
        ]
        marks = ((day_of(entry), entry.get_kind_display()) for entry in entries)
        return Strip(
            key=key,
            title=title,
            sentence=words,
            today=self.days.x(self.today),
            months=self.days.months,
            bars=[one for one in bars if one],
            done=done(self.days, marks),
            **shapes,  # type: ignore[arg-type]  # line, band and levels
        )

    def _words(self, lines: Iterable[DutyLine], entries: Sequence[Entry]) -> str:
        dates = [f"{line.title}: {_when(line, self.today)}." for line in lines]
        if entries:
            times = "once" if len(entries) == 1 else f"{len(entries)} times"
            last = max(day_of(entry) for entry in entries)
            dates.append(f"Done {times} in the last year, last on {format_day(last)}.")
        else:
            dates.append("Nothing done in the last year is on record.")
        return " ".join(dates)


def _when(line: DutyLine, today: date) -> str:
    """The one date of the duty, as on every page, and before it the day marked in the drawing."""
    if line.hold:
        return "on hold"
    if line.state == "unknown":
        return "not known"
    if not line.by or not line.due:
        return "no date in sight"
    if line.by < today:
        return f"since {format_day(line.by)}"
    likely = f"likely due {format_day(line.due)}, " if line.due < line.by else ""
    return f"{likely}by {format_day(line.by)}"
