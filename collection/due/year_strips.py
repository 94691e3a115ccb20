"""A year of one car as a strip: lanes of its windows and of what was done."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

from collection.drawing.days import format_day
from collection.drawing.strips import HEIGHT, Days, Shade, Strip, bar, done, shade
from collection.due.cells import DUTIES_OF, part_of
from collection.due.queries.timeline import CarYear, Season
from collection.life.duties import DutyLine
from scheduler.vocabulary.duties import DUTY
from scheduler.vocabulary.own_duties import OWN_CARE

AIR = 1.5  # between lanes


def year_strip(car: CarYear, days: Days, part: str, today: date, shades: Sequence[Shade] = ()) -> Strip:
    """The strip of one car: a lane for each part, or for each duty of the one that is asked for."""
    parts = _lanes(car, part)
    high = HEIGHT / len(parts)
    bars, strokes = [], []
    for lane, duties in enumerate(parts):
        top, bottom = round(lane * high, 1), round((lane + 1) * high, 1)
        for line in car.lines:
            if line.duty in duties and not line.hold:
                window = line.early, line.due, line.late
                one = bar(days, window, line.state, _words(line.title, line.due))
                bars += [replace(one, y=top + AIR, height=round(high - 2 * AIR, 1))] if one else []
        kinds = {answer.care for duty in duties for answer in DUTY[duty].answered_by}
        marks = [
            (day, entry.details.get("what") or entry.get_kind_display())
            for day, entry in car.done
            if (entry.details["own"] in duties if entry.kind == OWN_CARE else entry.kind in kinds)
        ]
        strokes += [replace(stroke, top=top, bottom=bottom) for stroke in done(days, marks)]
    return Strip(
        key="year",
        title=str(car.vehicle),
        sentence=_sentence(car, days),
        today=days.x(today),
        months=days.months,
        shades=list(shades),
        bars=bars,
        done=strokes,
    )


def _lanes(car: CarYear, part: str) -> list[tuple[str, ...]]:
    """The codes of each lane; what keepers added stands with its part."""
    own = sorted({line.duty for line in car.lines if line.name})
    if part:
        return [(duty,) for duty in (*DUTIES_OF[part], *own)] or [()]
    lanes = [
        (*some, *(code for code in own if part_of(DUTY[code]) == name)) for name, some in DUTIES_OF.items()
    ]
    return [lane for lane in lanes if lane]


def shades_of(season: Season, days: Days, months: Sequence[date]) -> list[Shade]:
    """Months of frost and closed days; ``months`` are the first days of those shown and of the next one."""
    frost = [
        shade(days, first, after - timedelta(days=1), "winter", f"{first:%B}: frost on many nights")
        for first, after in pairwise(months)
        if first.month in season.frost
    ]
    closed = [shade(days, one.day, one.day, "holiday", str(one)) for one in season.holidays]
    return [one for one in (*frost, *closed) if one]


def _words(title: str, due: date | None) -> str:
    return f"{title}: {format_day(due)}" if due else title


def _sentence(car: CarYear, days: Days) -> str:
    """The likely days of the year, for those who cannot see it."""
    falling = [line for line in car.lines if not line.hold and line.due and days.holds(line.due)]
    phrases = [_words(line.title, line.due) for line in sorted(falling, key=_by_day)]
    return "; ".join(phrases) or "nothing falls due in these months"


def _by_day(line: DutyLine) -> tuple[date, str]:
    return line.due or date.max, line.title
