"""The years of a history as strips under each other: charge, fuel, tyres, air, movement, care."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from collection.care.queries.care import day_of
from collection.drawing.strips import Bar, Days, Strip, done, unknown
from collection.due.cells import DUTIES_OF
from collection.due.core.air import air_around
from collection.due.core.curves import Band, curves
from collection.due.curve_strips import air_strip, curve_shapes, with_curves
from collection.due.queries.intervals import answered
from collection.history.known import Span
from collection.history.missed import Missed
from collection.models import CareKind, Entry, Vehicle
from scheduler.vocabulary.duties import DUTY

DRAWN = {"battery": "Charge", "fuel": "Fuel", "tyres": "Tyres"}  # the parts with a curve
MONTHS_UP_TO_DAYS = 3 * 366  # a longer period is lined by its years


def years_of(
    vehicle: Vehicle,
    entries: Sequence[Entry],
    lapses: Sequence[Missed],
    moves: Iterable[date],
    nothing: Sequence[Span],
    *,
    first: date,
    last: date,
) -> list[Strip]:
    """The strips from first to last; ``nothing``: the spans of which nothing is known.

    ValueError where the record does not allow the curves.
    """
    page = _Years(Days(first, max(last, first + timedelta(days=1))), lapses, moves, nothing, last)
    bands = {
        each.duty: each.band for each in curves(vehicle, with_curves(), first=first, last=last, today=last)
    }
    run = [entry for entry in entries if entry.kind in (CareKind.RUN_UP, CareKind.MOVED)]
    air = air_around(vehicle, first=first, last=last, today=last)
    return [
        *(page.part(part, title, bands, entries) for part, title in DRAWN.items()),
        *([replace(air_strip(page.days, air, last), months=page.grid, moves=page.moves)] if air.days else []),
        page.strip("movement", "Runs and moves", run, (), {}),
        page.strip("care", "All care", [entry for entry in entries if answered(entry) in DUTY], DUTY, {}),
    ]


class _Years:
    """What every strip of one history needs."""

    def __init__(
        self, days: Days, lapses: Sequence[Missed], moves: Iterable[date], nothing: Sequence[Span], last: date
    ) -> None:
        self.days, self.lapses, self.last = days, lapses, last
        self.moves = [days.x(day) for day in moves if days.holds(day)]
        self.nothing = unknown(days, nothing)
        many = (days.last - days.first).days > MONTHS_UP_TO_DAYS
        self.grid = days.years if many else days.months

    def part(self, part: str, title: str, bands: dict[str, Band], entries: Sequence[Entry]) -> Strip:
        """One part of the car with its curve, its lapses, and the care that answers them."""
        duties = DUTIES_OF[part]
        band = next((bands[duty] for duty in duties if duty in bands), None)
        known = band is not None and bool(np.isfinite(band.likely).any())
        kinds = {answer.care for duty in duties for answer in DUTY[duty].answered_by}
        care = [entry for entry in entries if entry.kind in kinds]
        return self.strip(part, title, care, duties, curve_shapes(self.days, band) if band and known else {})

    def strip(
        self, key: str, title: str, entries: Sequence[Entry], duties: Iterable[str], shapes: dict[str, object]
    ) -> Strip:
        """What was done, what came late, what is not known."""
        lapses = [lapse for lapse in self.lapses if lapse.duty in duties]
        late = len({lapse.since.toordinal() + n for lapse in lapses for n in range(lapse.days(self.last))})
        times = "once" if len(entries) == 1 else f"{len(entries)} times"
        words = [f"Done {times}" if entries else "Nothing done on record"]
        words += [f"late on {late:,} days"] if late else []
        return Strip(
            key=key,
            title=title,
            sentence=f"{'; '.join(words)}.",
            today=self.days.x(self.last),
            months=self.grid,
            bars=[self._bar(lapse) for lapse in lapses],
            done=done(self.days, ((day_of(entry), entry.get_kind_display()) for entry in entries)),
            unknown=self.nothing,
            moves=self.moves,
            **shapes,  # type: ignore[arg-type]  # line, band and levels
        )

    def _bar(self, lapse: Missed) -> Bar:
        begin, end = self.days.x(lapse.since), self.days.x(lapse.until or self.last)
        return Bar(begin, round(max(end - begin, 2.0), 1), None, "act_now", lapse.what)
