"""Charts say in words and in a table what they draw, in colours that stand out on both papers."""

import math
import re
from pathlib import Path

import plotly
import pytest
from django.contrib.staticfiles import finders
from django.template.loader import render_to_string

from collection.drawing import charts
from collection.drawing.svg_charts import draw_figure
from collection.drawing.timeline import Mark, timeline
from tests.barn import TODAY
from tests.logbook import ago


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


# drawn on the server


def scatter_of(y, x=None, **values):
    days = x or [ago(len(y) - at).isoformat() for at in range(len(y))]
    return (
        charts.scatter(x=days, y=y, mode="lines", line={"color": "#000", "width": 2}, name="Likely") | values
    )


def test_a_line_is_broken_where_nothing_is_known():
    drawing = draw_figure(charts.figure([scatter_of([1.0, 2.0, None, 2.0, float("nan"), 3.0, 4.0])], 300))
    (line,) = drawing.paths
    assert line.d.count("M") == 2  # two stretches; the lonely day between them is no line
    assert "nan" not in line.d


def test_a_higher_value_is_drawn_higher_and_a_later_day_farther_right():
    drawing = draw_figure(charts.figure([scatter_of([1.0, 5.0])], 300))
    (x0, y0), (x1, y1) = (pair.split() for pair in drawing.paths[0].d[1:].split("L"))
    assert float(x0) < float(x1)
    assert float(y0) > float(y1)


def test_ticks_are_round_numbers_with_their_unit_and_months_named_once():
    figure = charts.figure([scatter_of([0.0] * 399 + [97.0])], 300, y={"ticksuffix": " %"})
    words = [text.text for text in draw_figure(figure).texts]
    assert {"0 %", "50 %", "100 %"} <= set(words)
    months = [word for word in words if "20" in word and "%" not in word]
    assert len(months) == len(set(months)) >= 5


def test_bars_lie_or_stand_on_each_other():
    lying = charts.bars(
        x=[3, 1], y=["Charge", "Run-up"], orientation="h", name="now", marker={"color": "#000"}
    )
    words = {text.text for text in draw_figure(charts.figure([lying], 300)).texts}
    assert {"Charge", "Run-up"} <= words
    two = [
        charts.bars(x=["a", "b"], y=[1, 2], name=name, marker={"color": "#000"}) for name in ("one", "two")
    ]
    stacked = draw_figure(charts.figure(two, 300, x={"type": "category"}, barmode="stack"))
    low, high = ([float(y) for y in re.findall(r"V([\d.]+)", path.d)] for path in stacked.paths)
    assert min(high) < min(low)  # the second stands on the first
    assert [key.text for key in stacked.keys] == ["one", "two"]


def test_marks_stand_in_the_lane_of_their_kind_and_words_are_escaped():
    chart = timeline([Mark(ago(3), "<b>Run-up", "Ada")], first=ago(365), today=TODAY)
    page = render_to_string("due/_chart.html", {"chart": chart})
    assert "&lt;b&gt;Run-up</text>" in page
    assert "plotly" not in page


def test_nothing_of_the_large_script_is_asked_for_before_somebody_explores():
    head = render_to_string("due/_charts_head.html")
    assert not re.search(r'<script[^>]*src="[^"]*plotly', head)
    assert 'data-plotly="' in head
