"""Curves of a car as charts, for the pages that show them."""

from collections.abc import Iterable
from datetime import date, timedelta

from collection.drawing.charts import Chart
from collection.due.core.curves import Drawn, curves
from collection.due.curve_chart import Point, curve_chart
from collection.models import Vehicle
from collection.web.units import Edge

LOOK_AHEAD = timedelta(days=365)


def draw(
    vehicle: Vehicle, duties: Iterable[str], *, back: timedelta, today: date, reader: Edge
) -> list[Chart]:
    """A chart for each of the duties that has a curve; ValueError where the record forbids it."""
    drawn = curves(vehicle, duties, first=today - back, last=today + LOOK_AHEAD, today=today)
    return [curve_chart(one.band, today=today, edge=reader, points=_points(one)) for one in drawn]


def _points(drawn: Drawn) -> list[Point]:
    return [Point(known.day, known.value, f"{known.kind}, {known.value:.0%}") for known in drawn.measured]
