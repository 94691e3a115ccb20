"""The years of a history as strips under each other: charge, fuel, tyres, air, movement, care."""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from collection.care.queries.care import day_of
from collection.drawing.strips import Bar, Days, Strip, done, unknown
from collection.due.cells import DUTIES_OF
from collection.due.core.air import air_around
from collection.due.core.curves import curves
from collection.due.curve_strips import air_strip, curve_shapes, with_curves
from collection.history.known import Span
from collection.history.missed import Missed
from collection.models import CareKind, Entry, Vehicle
from scheduler.vocabulary.care import KIND

DRAWN = {"battery": "Charge", "fuel": "Fuel", "tyres": "Tyres"}  # the parts with a curve
NOTHING_KNOWN = "Nothing tells it"


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
    days = Days(first, max(last, first + timedelta(days=1)))
    bands = {
        each.duty: each.band for each in curves(vehicle, with_curves(), first=first, last=last, today=last)
    }
    where = [days.x(day) for day in moves if days.holds(day)]
    hatched = unknown(days, nothing)
    strips = []
    for part, title in DRAWN.items():
        band = next((bands[duty] for duty in DUTIES_OF[part] if duty in bands), None)
        shapes = curve_shapes(days, band) if band is not None and any(band.likely == band.likely) else {}
        own = [lapse for lapse in lapses if lapse.duty in DUTIES_OF[part]]
        strips.append(_strip(days, part, title, _care_of(entries, part), own, where, hatched, last, shapes))
    air = air_strip(days, air_around(vehicle, first=first, last=last, today=last), last)
    moved = [entry for entry in entries if entry.kind in (CareKind.RUN_UP, CareKind.MOVED)]
    elsewhere = {duty for part in DRAWN for duty in DUTIES_OF[part]}
    rest = [lapse for lapse in lapses if lapse.duty not in elsewhere]
    return [
        *strips,
        air,
        _strip(days, "movement", "Runs and moves", moved, [], where, hatched, last, {}),
        _strip(days, "care", "All care", entries, rest, where, hatched, last, {}),
    ]


def _care_of(entries: Sequence[Entry], part: str) -> list[Entry]:
    duties = set(DUTIES_OF[part])
    return [entry for entry in entries if duties & {answer.duty for answer in KIND[entry.kind].answers}]


def _strip(
    days: Days,
    key: str,
    title: str,
    entries: Sequence[Entry],
    lapses: Sequence[Missed],
    moves: list[float],
    nothing: list[tuple[float, float]],
    last: date,
    shapes: dict[str, object],
) -> Strip:
    late = sum(((lapse.until or last) - lapse.since).days for lapse in lapses)
    times = "once" if len(entries) == 1 else f"{len(entries)} times"
    words = [
        f"{'Done' if key != 'movement' else 'Run or moved'} {times}"
        if entries
        else "Nothing done is on record"
    ]
    words += [f"{late:,} days late in all"] if late else []
    return Strip(
        key=key,
        title=title,
        sentence=f"{'; '.join(words)}.",
        today=days.x(last),
        months=days.months if (days.last - days.first).days < 3 * 366 else days.years,
        bars=[_bar(days, lapse, last) for lapse in lapses],
        done=done(days, ((day_of(entry), entry.get_kind_display()) for entry in entries)),
        unknown=nothing,
        moves=moves,
        **shapes,  # type: ignore[arg-type]  # line, band and levels
    )


def _bar(days: Days, lapse: Missed, last: date) -> Bar:
    begin, end = days.x(lapse.since), days.x(lapse.until or last)
    return Bar(begin, round(max(end - begin, 2.0), 1), None, "act_now", lapse.what)
