"""Work ahead as bars: planned hours against hours recorded, and the year by month and kind."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from itertools import cycle
from typing import Any

from collection.drawing.charts import LEVEL, LINE, POINT, Chart, bars, figure, scatter
from collection.round.queries.plans import WeekLoad
from scheduler.vocabulary.duties import CHART_GROUPS, DUTY

HEIGHT_PX = 320
AN_HOUR = 60
COLOURS = (LINE, POINT, LEVEL, "#5d7d3a", "#76659c", "#8c6d46")  # of the groups of work, in turn


def weeks(loads: Sequence[WeekLoad]) -> Chart:
    """Planned hours of each week as bars, the hours recorded as a line."""
    names = [f"{load.week.monday.day} {load.week.monday:%b}" for load in loads]
    planned, free = [load.planned / AN_HOUR for load in loads], [load.minutes / AN_HOUR for load in loads]
    drawn = figure(
        [
            bars(x=names, y=planned, name="Planned", marker={"color": LINE}, hovertemplate="%{y:.1f} h"),
            scatter(
                x=names,
                y=free,
                name="Hours recorded",
                mode="lines+markers",
                line={"color": POINT, "dash": "dash"},
                hovertemplate="%{y:.1f} h",
            ),
        ],
        HEIGHT_PX,
        x={"type": "category", "nticks": len(names)},
        y={"ticksuffix": " h", "rangemode": "tozero"},
    )
    return Chart("weeks-ahead", "The coming twelve weeks", _sentence(loads), drawn, (), ())


def _sentence(loads: Sequence[WeekLoad]) -> str:
    planned, free = sum(load.planned for load in loads), sum(load.minutes for load in loads)
    text = f"{planned / AN_HOUR:.0f} hours of work are planned in {free / AN_HOUR:.0f} hours of hands"
    full = [load for load in loads if load.minutes]
    if not full:
        return f"{text}."
    most = max(full, key=lambda load: load.planned / load.minutes)
    return f"{text}; the week of {most.week.monday.day} {most.week.monday:%B} is the fullest, {most.share}."


def year(lines: Sequence[Sequence[Any]]) -> Chart:
    """Hours of each month by kind of work, as (month, duty, times, minutes)."""
    by_kind: dict[str, dict[str, float]] = {group.code: defaultdict(float) for group in CHART_GROUPS}
    times: dict[str, int] = defaultdict(int)
    for month, duty, count, minutes in lines:
        by_kind[DUTY[duty].chart][month] += minutes / AN_HOUR
        times[month] += count
    months = sorted(times)
    names = [f"{date.fromisoformat(f'{month}-01'):%b %Y}" for month in months]
    stacked = [
        bars(
            x=names,
            y=[by_kind[group.code][month] for month in months],
            name=group.title,
            marker={"color": colour},
            hovertemplate="%{y:.1f} h",
        )
        for group, colour in zip(CHART_GROUPS, cycle(COLOURS), strict=False)
    ]
    drawn = figure(
        stacked,
        HEIGHT_PX,
        x={"type": "category", "nticks": len(names)},
        y={"ticksuffix": " h", "rangemode": "tozero"},
        barmode="stack",
    )
    rows = tuple(
        (name, str(times[month]), *(f"{by_kind[group.code][month]:.1f}" for group in CHART_GROUPS))
        for name, month in zip(names, months, strict=True)
    )
    total = sum(sum(hours.values()) for hours in by_kind.values())
    return Chart(
        key="year-ahead",
        title="The year ahead",
        sentence=f"{sum(times.values())} duties and about {total:.0f} hours at the cars in twelve months, "
        "each done on its due day and coming round again as the forecast has it today.",
        figure=drawn,
        columns=("Month", "Duties", *(f"{group.title}, h" for group in CHART_GROUPS)),
        rows=rows,
    )
