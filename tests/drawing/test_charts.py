"""Charts say in words and in a table what they draw, in colours that stand out on both papers."""

import json
import math
import re
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

import numpy as np
import plotly
import pytest
from django.contrib.staticfiles import finders
from django.template.loader import render_to_string

from collection.drawing import charts
from collection.drawing.charts import Point, curve_chart
from collection.drawing.curves import NO_BREAK
from collection.drawing.timeline import Mark, timeline
from collection.web.units import edge
from tests.barn import TODAY
from tests.logbook import ago, ahead

METRIC, AMERICAN = edge("metric"), edge("american")


@dataclass(frozen=True)
class Level:
    name: str
    value: float


@dataclass(frozen=True)
class Curve:
    days: np.ndarray
    likely: np.ndarray
    low: np.ndarray
    high: np.ndarray
    levels: tuple = ()
    name: str = "state of charge"
    unit: str = "of full"


def falling(first=100, last=200, **values):
    """From full, a thousandth a day, sure to two hundredths; unknown for the first ten days."""
    days = np.arange(ago(first).toordinal(), ahead(last).toordinal() + 1.0)
    likely = 1.0 - (days - days[0]) / 1000
    likely[:10] = np.nan
    facts = {"low": likely - 0.02, "high": likely + 0.02, "levels": (Level("recharge", 0.75),)} | values
    return Curve(days=days, likely=likely, **facts)


def draw(curve, reader=METRIC, **more):
    return curve_chart(curve, today=TODAY, edge=reader, **more)


def words(chart):
    return chart.sentence.replace(NO_BREAK, " ")


def test_the_sentence_says_today_and_when_each_line_is_crossed():
    chart = draw(falling(levels=(Level("recharge", 0.7505),)))
    crossing = ahead(150)  # 0.900 today, 0.751 after 149 days, 0.750 on the next
    assert words(chart) == (
        "State of charge today: likely 90 %, between 88 % and 92 %. "
        f"It crosses the line “recharge” at 75 % about {crossing.day} {crossing:%b %Y}."
    )


def test_a_line_that_is_never_crossed_is_said_to_stay():
    chart = draw(falling(levels=(Level("recharge", 0.2),)))
    assert "It stays above the line “recharge” at 20 % until 13 Jun 2027" in words(chart)


def test_a_curve_unknown_for_today_says_so():
    curve = falling()
    blank = np.full_like(curve.days, np.nan)
    chart = draw(Curve(curve.days, blank, blank, blank))
    assert chart.sentence == "State of charge: not known for today."
    assert chart.rows == ()


def test_the_table_holds_today_and_the_first_of_each_known_month():
    days = [row[0] for row in draw(falling()).rows]
    assert days[:3] == ["1 Sep 2026", "1 Oct 2026", "1 Nov 2026"]
    assert days[3] == "25 Nov 2026 (today)"
    assert days[-1] == "1 Jun 2027"
    assert draw(falling()).rows[3][1:] == tuple(f"{share}{NO_BREAK}%" for share in (90, 88, 92))


def test_a_figure_is_plain_data_without_what_json_cannot_hold():
    figure = draw(falling(), points=[Point(ago(30), 0.8, "rested volts")]).figure
    again = json.loads(json.dumps(figure, allow_nan=False))
    likely = next(trace for trace in again["data"] if trace.get("name") == "Likely")
    assert likely["y"][0] is None
    assert likely["y"][-1] == pytest.approx(70.0)
    reading = next(trace for trace in again["data"] if trace.get("name") == "Charge or reading")
    assert (reading["x"], reading["y"]) == ([ago(30).isoformat()], [80.0])


def test_lines_carry_their_names_in_words():
    shapes = draw(falling()).figure["layout"]["shapes"]
    assert [shape["label"]["text"] for shape in shapes] == [f"Recharge 75{NO_BREAK}%", "today"]


def test_values_come_in_the_units_of_the_reader():
    curve = falling(unit="kPa", name="tyre pressure", levels=())
    kpa = Curve(curve.days, curve.likely * 200, curve.low * 200, curve.high * 200, (), "tyre pressure", "kPa")
    assert "likely 1.80 bar" in words(draw(kpa))
    assert "likely 26.1 psi" in words(draw(kpa, AMERICAN))


def test_frost_is_drawn_below_nought_and_the_rest_from_nought_up():
    curve = falling()
    cold = Curve(curve.days, curve.likely - 5, curve.low - 5, curve.high - 5, (), "night air", "°C")
    assert "range" not in draw(cold).figure["layout"]["yaxis"]
    assert draw(curve).figure["layout"]["yaxis"]["range"][0] == 0


def test_a_timeline_counts_and_tells_each_month():
    marks = [
        Mark(ago(days), lane, "Ada") for days, lane in ((3, "Run-up"), (10, "Run-up"), (60, "Inspected"))
    ]
    chart = timeline(marks, first=ago(365), today=TODAY)
    assert chart.sentence == "3 entries in the care log since 25 Nov 2025; the last on 22 Nov 2026."
    assert chart.rows == (("November 2026", "Run-up × 2"), ("September 2026", "Inspected"))
    assert chart.figure["data"][0]["y"] == ["Run-up", "Run-up", "Inspected"]


def test_an_empty_timeline_says_that_nothing_is_written():
    chart = timeline([], first=ago(365), today=TODAY)
    assert chart.sentence == "Nothing is written in the care log since 25 Nov 2025."
    assert chart.figure == {}
    assert "data-figure" not in render_to_string("due/_chart.html", {"chart": chart})


def test_a_chart_begins_where_something_is_known():
    assert draw(falling()).figure["layout"]["xaxis"]["range"][0] == ago(90).isoformat()


def _luminance(colour):
    """Relative luminance, WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return math.fsum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def _contrast(one, other):
    """Contrast ratio, WCAG 2.2."""
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("line", ["LINE", "LEVEL", "POINT", "TODAY"])
def test_lines_stand_out_on_the_light_and_on_the_dark_sheet(line):
    """3:1 for graphical objects: WCAG 2.2, success criterion 1.4.11."""
    css = Path(finders.find("collection/longstand.css")).read_text()
    sheets = re.findall(r"--sheet: (#[0-9a-f]{6})", css)[:2]
    assert len(sheets) == 2
    assert min(_contrast(getattr(charts, line), sheet) for sheet in sheets) >= 3


def test_every_style_that_the_script_would_write_into_the_page_has_its_stand_in():
    """The script writes a style sheet unless an element with its id is there; ids change with versions."""
    script = (Path(plotly.__file__).parent / "package_data" / "plotly.min.js").read_text()
    wanted = set(re.findall(r'if\(!document\.getElementById\("([0-9a-f]{64})"\)\)', script))
    head = render_to_string("due/_charts_head.html")
    assert wanted
    assert wanted <= set(re.findall(r'id="([0-9a-f]{64})"', head))
    assert '.matches(".no-inline-styles")' in script
    assert re.search(r'id="plotly.js-style-global" class="no-inline-styles"', head)


def test_the_page_carries_no_inline_script_or_style():
    html = render_to_string("due/_chart.html", {"chart": draw(falling())})
    scripts = re.findall(r"<script[^>]*>", html)
    assert scripts == ['<script id="figure-state-of-charge" type="application/json">']
    assert "style=" not in html


def test_a_figure_has_a_value_for_each_day():
    days = draw(falling()).figure["data"][0]["x"]
    assert days[1] == (ago(100) + timedelta(days=1)).isoformat()
    assert len(days) == 301
