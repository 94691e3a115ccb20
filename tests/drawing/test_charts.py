"""Charts say in words and in a table what they draw, in colours that stand out on both papers."""

import math
import re
from pathlib import Path

import plotly
import pytest
from django.contrib.staticfiles import finders
from django.template.loader import render_to_string

from collection.drawing import charts
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
