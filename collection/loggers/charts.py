"""What a logger measured as figures: each day's least, mean and greatest; gaps stay empty."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from collection.drawing.charts import HEIGHT_PX, LEVEL, LINE, Chart, Trace, figure, scatter
from collection.drawing.days import format_day
from collection.models import LoggerDay
from collection.web.units import Edge
from scheduler.vocabulary.units import Unit

EXTREMES = "rgba(31, 127, 152, 0.6)"  # the same colour as the mean's, lighter
A_DAY = timedelta(days=1)
MOST_DAYS = 4000  # ten years; a longer file is drawn from its end


def air_charts(days: Sequence[LoggerDay], edge: Edge) -> list[Chart]:
    """Temperature and, where it was measured, humidity."""
    charts = [_chart(days, 0, "temperature", "Temperature", edge.unit("°C"), 1)]
    damp = _chart(days, 1, "humidity", "Humidity", Unit(name="%"), 0)
    return charts + ([damp] if damp.rows else [])


def volt_charts(days: Sequence[LoggerDay], edge: Edge) -> list[Chart]:
    """Volts and, where it was measured, the temperature beside them."""
    charts = [_chart(days, 0, "volts", "Volts", Unit(name="V"), 2)]
    warm = _chart(days, 1, "temperature", "Temperature", edge.unit("°C"), 1)
    return charts + ([warm] if warm.rows else [])


def _chart(  # one figure: of what, and how it is read
    days: Sequence[LoggerDay], column: int, key: str, title: str, unit: Unit, digits: int
) -> Chart:
    known = [row for each in days[-MOST_DAYS:] if (row := _day(each, column))]
    if not known:
        return Chart(key, title, f"No {title.lower()} in this file.", {}, (), ())
    drawn = _with_gaps(known)
    lines, gaps = _lines(drawn, title, unit, digits), _gaps(drawn)
    low, high = min(row[1] for row in known), max(row[3] for row in known)
    mean = sum(row[2] for row in known) / len(known)
    return Chart(
        key=key,
        title=title,
        figure=figure(lines, HEIGHT_PX, y={"ticksuffix": f" {unit.name}"}, shapes=gaps),
        sentence=f"{title} from {format_day(known[0][0])} to {format_day(known[-1][0])}: "
        f"mean {_format(mean, unit, digits)}, least {_format(low, unit, digits)}, "
        f"greatest {_format(high, unit, digits)}.",
        columns=("Month", "Days", "Mean", "Least", "Greatest"),
        rows=tuple(_months(known, unit, digits)),
    )


Row = tuple[date, float, float, float]


def _day(row: LoggerDay, column: int) -> Row | None:
    """Day, least, mean, greatest; nothing where the column has no value that day."""
    mean = [x for x in row.hours["mean"][column] if x is not None]
    if not mean:
        return None
    low = min(x for x in row.hours["least"][column] if x is not None)
    high = max(x for x in row.hours["most"][column] if x is not None)
    return row.day, low, sum(mean) / len(mean), high


def _with_gaps(rows: Sequence[Row]) -> list[tuple[date, float | None, float | None, float | None]]:
    """The days, and an empty one wherever one or more are missing, so that no line is drawn across."""
    drawn: list[tuple[date, float | None, float | None, float | None]] = []
    for row in rows:
        if drawn and row[0] - drawn[-1][0] > A_DAY:
            drawn.append((drawn[-1][0] + A_DAY, None, None, None))
        drawn.append(row)
    return drawn


def _lines(drawn: Sequence[Any], title: str, unit: Unit, digits: int) -> list[Trace]:
    x = [row[0].isoformat() for row in drawn]
    low, mean, high = (
        [None if row[i] is None else round(unit.from_si(row[i]), 3) for row in drawn] for i in (1, 2, 3)
    )
    thin = {"x": x, "mode": "lines", "line": {"color": EXTREMES, "width": 1}, "connectgaps": False}
    hover = f"%{{x}}<br>%{{y:.{digits}f}} {unit.name}<extra></extra>"
    return [
        scatter(y=high, name="Greatest of the day", hovertemplate=hover, **thin),
        scatter(y=low, name="Least of the day", hovertemplate=hover, **thin),
        scatter(
            x=x,
            y=mean,
            mode="lines",
            name=f"{title}, mean of the day",
            connectgaps=False,
            line={"color": LINE, "width": 2},
            hovertemplate=hover,
        ),
    ]


def _gaps(drawn: Sequence[Any]) -> list[Trace]:
    return [
        {
            "type": "rect",
            "yref": "paper",
            "y0": 0,
            "y1": 1,
            "fillcolor": LEVEL,
            "opacity": 0.15,
            "line": {"width": 0},
            "x0": (before[0] + A_DAY).isoformat(),
            "x1": after[0].isoformat(),
        }
        for before, row, after in zip(drawn, drawn[1:], drawn[2:], strict=False)
        if row[1] is None
    ]


def _months(rows: Sequence[Row], unit: Unit, digits: int) -> Any:
    by_month: dict[str, list[Row]] = {}
    for row in rows:
        by_month.setdefault(f"{row[0]:%b %Y}", []).append(row)
    for month, of_it in by_month.items():
        mean = sum(row[2] for row in of_it) / len(of_it)
        low, high = min(row[1] for row in of_it), max(row[3] for row in of_it)
        yield month, str(len(of_it)), *(_format(v, unit, digits) for v in (mean, low, high))


def _format(value: float, unit: Unit, digits: int) -> str:
    return unit.format(value, f".{digits}f").replace(" ", "\u00a0")
