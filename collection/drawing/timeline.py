"""What was done to a car as marks along the days."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from collection.drawing.charts import BAND, LEVEL, LINE, POINT, Chart, Trace, figure, scatter
from collection.drawing.days import format_day

LANE_PX = 26  # height of one row of marks
MARGIN = timedelta(days=8)  # air at both ends


@dataclass(frozen=True)
class Mark:
    """Something done on a day, in the lane of its kind."""

    day: date
    lane: str
    text: str


@dataclass(frozen=True)
class Stretch:
    """A time from a day to a day, in a lane of its own above the marks; ``bad`` for a gap."""

    first: date
    last: date
    lane: str
    text: str
    bad: bool = False


def timeline(marks: Sequence[Mark], *, first: date, today: date, spells: Sequence[Stretch] = ()) -> Chart:
    """What was done, a mark a time, a lane a kind of care; above it where it stood and what was missed."""
    lanes = [lane for lane, _ in Counter(mark.lane for mark in marks).most_common()][::-1]
    lanes += list(dict.fromkeys(spell.lane for spell in spells))[::-1]
    dots = scatter(
        x=[mark.day.isoformat() for mark in marks],
        y=[mark.lane for mark in marks],
        mode="markers",
        text=[mark.text for mark in marks],
        hovertemplate="%{x}: %{text}<extra></extra>",
        marker={"symbol": "diamond", "size": 9, "color": POINT},
    )
    drawn = figure(
        [dots, *map(_bar, spells)],
        90 + LANE_PX * max(len(lanes), 1),
        showlegend=False,
        x={"range": [(first - MARGIN).isoformat(), (today + MARGIN).isoformat()]},
        y={"categoryorder": "array", "categoryarray": lanes, "ticks": ""},
    )
    return Chart(
        key="what-was-done",
        title="What was done",
        sentence=_timeline_words(marks, first),
        figure=drawn if marks or spells else {},
        columns=("Month", "What was done"),
        rows=tuple(_by_month(marks)),
    )


def _bar(spell: Stretch) -> Trace:
    """A thick line; gaps are told apart by their outline as well as by their colour."""
    ends = [spell.first.isoformat(), spell.last.isoformat()]
    return scatter(
        x=ends,
        y=[spell.lane] * 2,
        mode="lines+markers",
        text=[spell.text] * 2,
        hovertemplate=f"%{{text}}<br>{format_day(spell.first)} to {format_day(spell.last)}<extra></extra>",
        line={"width": 9, "color": LEVEL if spell.bad else BAND},
        marker={"symbol": "line-ns-open", "size": 11, "color": LEVEL if spell.bad else LINE},
    )


def _timeline_words(marks: Sequence[Mark], first: date) -> str:
    if not marks:
        return f"Nothing is written in the care log since {format_day(first)}."
    count = "1 entry" if len(marks) == 1 else f"{len(marks)} entries"
    last = max(mark.day for mark in marks)
    return f"{count} in the care log since {format_day(first)}; the last on {format_day(last)}."


def _by_month(marks: Sequence[Mark]) -> Iterator[tuple[str, str]]:
    """Newest month first: each kind with how often."""
    months = sorted({(mark.day.year, mark.day.month) for mark in marks}, reverse=True)
    for year, month in months:
        lanes = Counter(m.lane for m in marks if (m.day.year, m.day.month) == (year, month))
        text = ", ".join(f"{lane} × {times}" if times > 1 else lane for lane, times in sorted(lanes.items()))
        yield f"{date(year, month, 1):%B %Y}", text
