"""A curve says in words and in a table what it draws, in the units of the reader."""

import json
import re
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from django.template.loader import render_to_string

from collection.due.curve_chart import Point, curve_chart
from collection.due.curve_words import NO_BREAK
from collection.web.units import edge
from scheduler.duties.windows import Band, Level
from tests.barn import TODAY
from tests.logbook import ago, ahead

METRIC, AMERICAN = edge("metric"), edge("american")


def falling(first=100, last=200, **values):
    """From full, a thousandth a day, sure to two hundredths; unknown for the first ten days."""
    days = np.arange(ago(first).toordinal(), ahead(last).toordinal() + 1.0)
    likely = 1.0 - (days - days[0]) / 1000
    likely[:10] = np.nan
    facts = {"low": likely - 0.02, "high": likely + 0.02, "levels": (Level("recharge", 0.75),)} | values
    return Band(**{"name": "state of charge", "unit": "of full", "days": days, "likely": likely} | facts)


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
    chart = draw(replace(curve, likely=blank, low=blank, high=blank, levels=()))
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
    kpa = replace(curve, likely=curve.likely * 200, low=curve.low * 200, high=curve.high * 200)
    assert "likely 1.80 bar" in words(draw(kpa))
    assert "likely 26.1 psi" in words(draw(kpa, AMERICAN))


def test_frost_is_drawn_below_nought_and_the_rest_from_nought_up():
    curve = falling()
    colder = {name: getattr(curve, name) - 5 for name in ("likely", "low", "high")}
    cold = replace(curve, name="night air", unit="°C", levels=(), **colder)
    assert "range" not in draw(cold).figure["layout"]["yaxis"]
    assert draw(curve).figure["layout"]["yaxis"]["range"][0] == 0


def test_a_chart_begins_where_something_is_known():
    assert draw(falling()).figure["layout"]["xaxis"]["range"][0] == ago(90).isoformat()


def test_the_page_carries_no_inline_script_or_style():
    html = render_to_string("due/_chart.html", {"chart": draw(falling())})
    scripts = re.findall(r"<script[^>]*>", html)
    assert scripts == ['<script id="figure-state-of-charge" type="application/json">']
    assert "style=" not in html


def test_a_figure_has_a_value_for_each_day():
    days = draw(falling()).figure["data"][0]["x"]
    assert days[1] == (ago(100) + timedelta(days=1)).isoformat()
    assert len(days) == 301
