"""One of each part that pages are made of, with invented values, for the page of Help that shows them."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from django import forms
from django.http import QueryDict
from django.urls import reverse

from collection.drawing.charts import BAND, HEIGHT_PX, LINE, Chart, figure, scatter
from collection.drawing.strips import Days, Strip, band, bar, done, line, scaled, shade
from collection.drawing.svg_charts import Drawing
from collection.web.measures import MeasureField, PlainForm
from collection.web.sorting import Column, Sorting
from collection.web.templatetags.longstand import STATES
from scheduler.vocabulary.bodies import BODIES

DAY = date(2026, 11, 25)
PANES = (("light", "In light"), ("dark", "In the dark"), ("paper", "On paper"))
COLUMNS = (
    Column("car", "Car", ("car",)),
    Column("place", "Place", ("place",)),
    Column("days", "Days", ("days",), numeric=True),
)


class SampleForm(PlainForm):
    """A field of each kind; one is filled in wrong."""

    volts = MeasureField(name="Rested volts", stored_as="V", low=0, high=60, help_text="Four hours at rest.")
    kind = forms.ChoiceField(label="Kind", choices=[("", "Not known"), ("agm", "AGM")], required=False)
    day = forms.DateField(label="Day", widget=forms.DateInput({"type": "date"}))
    note = forms.CharField(label="Note", widget=forms.Textarea({"rows": 2}), required=False)
    done = forms.BooleanField(label="Run to the end", required=False)


def samples() -> dict[str, Any]:
    """What the page shows, by the names in its text; the headings of its table lead nowhere else."""
    heads = Sorting(QueryDict("sort=place"), COLUMNS).heads
    return {
        "panes": [
            (pane, title, SampleForm({"volts": "99", "done": "on"}, auto_id=f"{pane}_%s"))
            for pane, title in PANES
        ],
        "states": list(STATES),
        "heads": [replace(head, address=reverse("help_page", args=["style"])) for head in heads],
        "strip": _strip(),
        "drawing": _drawing(),
        "bodies": BODIES,
        "colours": ("ink", "soft", "accent", "late", "due", "soon", "fine", "held"),
    }


def _falling(days: Days) -> tuple[list[float], list[float]]:
    first, last = days.first.toordinal(), days.last.toordinal()
    at = [float(day) for day in range(first, last + 1, 7)]
    return at, [100.0 - (day - first) * 0.09 for day in at]


def _strip() -> Strip:
    days = Days(DAY - timedelta(days=365), DAY + timedelta(days=365))
    at, values = _falling(days)
    window = DAY + timedelta(days=60), DAY + timedelta(days=90), DAY + timedelta(days=130)
    bars = [bar(days, window, "this_month", "Maintainer charge")]
    winter = shade(days, date(2026, 12, 1), date(2027, 2, 28), "winter", "frost")
    return Strip(
        key="sample",
        title="Charge",
        sentence="Maintainer charge: 23 Feb 2027. Done twice in the last year.",
        today=days.x(DAY),
        months=days.months,
        shades=[winter] if winter else [],
        line=line(days, at, values, 0, 110),
        band=band(days, at, [v - 8 for v in values], [v + 8 for v in values], 0, 110),
        levels=[scaled(50, 0, 110)],
        bars=[one for one in bars if one],
        done=done(days, [(DAY - timedelta(days=200), "Charge"), (DAY - timedelta(days=40), "Charge")]),
    )


def _drawing() -> Drawing | None:
    at, values = _falling(Days(DAY - timedelta(days=30), DAY + timedelta(days=365)))
    days = [date.fromordinal(int(day)).isoformat() for day in at]
    edge: dict[str, Any] = {"x": days, "mode": "lines", "line": {"width": 0}}
    traces = [
        scatter(y=[value - 8 for value in values], **edge),
        scatter(
            y=[value + 8 for value in values],
            fill="tonexty",
            fillcolor=BAND,
            name="Lowest to highest",
            **edge,
        ),
        scatter(x=days, y=values, mode="lines", line={"color": LINE, "width": 2.5}, name="Likely"),
    ]
    drawn = figure(traces, HEIGHT_PX - 80, y={"ticksuffix": " %"})
    return Chart("sample", "Charge", "", drawn, (), ()).drawing
