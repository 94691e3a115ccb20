"""When a car last moved, ran, was driven and attended: intervals with the evidence on them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from collection.drawing.charts import BAND, LEVEL, LINE, POINT, Chart, Trace, figure, scatter
from collection.drawing.curves import format_day

LANE_PX = 62
OPEN_YEARS = timedelta(days=365 * 2)  # how far an open interval is drawn to the left of what is known
AIR = timedelta(days=120)


@dataclass(frozen=True)
class Bar:
    """One event: its interval with hard evidence alone and with the soft; None where contradictory."""

    lane: str
    hard: tuple[date | None, date] | None
    soft: tuple[date | None, date] | None


@dataclass(frozen=True)
class Find:
    """One bound on one event; ``open``: its code can be read in another way too."""

    lane: str
    day: date
    after: bool  # the event happened on or after the day
    hard: bool
    text: str
    ambiguous: bool = False


def standing_chart(
    bars: Sequence[Bar], finds: Sequence[Find], *, today: date, rows: Sequence[tuple[str, ...]], sentence: str
) -> Chart:
    """The four events, one lane each, with every bound as a mark pointing the way it bounds."""
    days = [find.day for find in finds if not find.ambiguous]
    days += [day for bar in bars for ends in (bar.hard, bar.soft) if ends for day in ends if day]
    first = min([*days, today]) - OPEN_YEARS  # older readings of an ambiguous code run off the chart
    traces = [_bars(bars, first, hard=False), _bars(bars, first, hard=True)]
    plain_finds = [find for find in finds if not find.ambiguous]
    traces += [
        _marks(plain_finds, after=after, hard=hard) for after in (True, False) for hard in (True, False)
    ]
    traces.append(_readings([find for find in finds if find.ambiguous]))
    lanes = [bar.lane for bar in bars][::-1]
    drawn = figure(
        [trace for trace in traces if trace["x"]],
        110 + LANE_PX * len(bars),
        barmode="overlay",
        x={"range": [first.isoformat(), (today + AIR).isoformat()], "tickformat": "%Y"},
        y={"categoryorder": "array", "categoryarray": lanes, "ticks": ""},
    )
    return Chart(
        "standing",
        "When it last happened",
        sentence,
        drawn,
        ("Event", "Hard evidence alone", "With soft evidence", "Standing time"),
        tuple(rows),
    )


def _bars(bars: Sequence[Bar], first: date, *, hard: bool) -> Trace:
    """Thick lines, broken between the lanes; the hard interval lies thin over the wide one."""
    x: list[str | None] = []
    y: list[str | None] = []
    for bar in bars:
        ends = bar.hard if hard else bar.soft
        if ends:
            x += [(ends[0] or first).isoformat(), ends[1].isoformat(), None]
            y += [bar.lane, bar.lane, None]
    name = "Hard evidence alone" if hard else "With soft evidence"
    line = {"width": 3 if hard else 18, "color": LINE if hard else BAND}
    return scatter(x=x, y=y, mode="lines", name=name, line=line, hoverinfo="skip", connectgaps=False)


def _marks(finds: Sequence[Find], *, after: bool, hard: bool) -> Trace:
    own = [find for find in finds if (find.after, find.hard) == (after, hard)]
    name = f"{'Not before' if after else 'Not after'}, {'hard' if hard else 'soft'}"
    shape = "triangle-right" if after else "triangle-left"
    return scatter(
        x=[find.day.isoformat() for find in own],
        y=[find.lane for find in own],
        mode="markers",
        name=name,
        text=[find.text for find in own],
        hovertemplate="%{x}: %{text}<extra></extra>",
        marker={
            "symbol": shape if hard else f"{shape}-open",
            "size": 13,
            "color": POINT if after else LEVEL,
            "line": {"width": 2, "color": POINT if after else LEVEL},
        },
    )


def _readings(finds: Sequence[Find]) -> Trace:
    """Each way in which an ambiguous code can be read."""
    return scatter(
        x=[find.day.isoformat() for find in finds],
        y=[find.lane for find in finds],
        mode="markers",
        name="Not before: one reading of several",
        text=[find.text for find in finds],
        hovertemplate="%{x}: %{text}<extra></extra>",
        marker={"symbol": "circle-open", "size": 11, "color": POINT, "line": {"width": 2, "color": POINT}},
    )


def format_interval(first: date | None, last: date) -> str:
    """An interval in words."""
    if first is None:
        return f"before {format_day(last)}, from when is open"
    return format_day(first) if first == last else f"{format_day(first)} to {format_day(last)}"
