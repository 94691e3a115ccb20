"""Two years of care side by side, as a person reads them: a chart, a table of work, one of risk."""

from dataclasses import dataclass

from collection.drawing.charts import LAYOUT, LINE, POINT, Chart, bars, figure
from collection.due.core.whatif import Outcome
from collection.life.duties import DUTY_TITLES

TITLES = DUTY_TITLES | {"maintainer_check": "Look at the maintainer"}
MONEY = {
    "staff": "Staff",
    "electricity": "Electricity",
    "fuel": "Fuel",
    "stabiliser": "Stabiliser",
    "fluids": "Oils and fluids",
}
NOW, CHANGED = "As it is", "Changed"
ROW_PX, FRAME_PX = 44, 90


@dataclass(frozen=True)
class Line:
    """One figure of both years, in words; ``part`` marks a figure that is part of the one above."""

    title: str
    now: str
    changed: str
    difference: str
    part: bool = False


@dataclass(frozen=True)
class WorkLine:
    """One kind of work in both years."""

    title: str
    now: int
    changed: int
    difference: str
    hours_now: str
    hours_changed: str
    held_now: int
    held_changed: int


def format_figure(value: float) -> str:
    """A figure with as many places as it bears."""
    return f"{value:,.0f}" if abs(value) >= 10 or value == round(value) else f"{value:.1f}"


def difference(now: float, changed: float) -> str:
    """More or less, with a real minus sign."""
    step = format_figure(abs(changed - now))
    return "the same" if step == "0" else f"+{step}" if changed > now else f"−{step}"


def totals(now: Outcome, changed: Outcome) -> list[Line]:
    """The year in a few figures."""
    pairs = [
        ("Duties done", now.total_done, changed.total_done, False),
        ("Hours of staff", now.total_hours, changed.total_hours, False),
        ("Electricity, kWh", now.total_kwh, changed.total_kwh, False),
        ("for charging", now.charging_kwh, changed.charging_kwh, True),
        ("for maintainers", now.maintainer_kwh, changed.maintainer_kwh, True),
        ("Money, at these prices", now.total_money, changed.total_money, False),
        *((words.lower(), now.money[key], changed.money[key], True) for key, words in MONEY.items()),
        ("Risk days if nobody comes", now.total_alone_days, changed.total_alone_days, False),
        ("Risk days with care when due", now.total_cared_days, changed.total_cared_days, False),
    ]
    return [
        Line(title, format_figure(a), format_figure(b), difference(a, b), part) for title, a, b, part in pairs
    ]


def work(now: Outcome, changed: Outcome) -> list[WorkLine]:
    """Every kind of work that either year asks for or holds."""
    return [
        WorkLine(
            TITLES[kind],
            now.done[kind],
            changed.done[kind],
            difference(now.done[kind], changed.done[kind]),
            format_figure(now.hours[kind]),
            format_figure(changed.hours[kind]),
            now.held.get(kind, 0),
            changed.held.get(kind, 0),
        )
        for kind in now.done
        if any(year.done[kind] or year.held.get(kind) for year in (now, changed))
    ]


def risk(now: Outcome, changed: Outcome) -> list[tuple[str, ...]]:
    """Duty, then days past its harm line: nobody comes, now and changed; with care, now and changed."""
    columns = (now.alone_days, changed.alone_days, now.cared_days, changed.cared_days)
    duties = [duty for duty in now.alone_days if any(column[duty] for column in columns)]
    return [(TITLES[duty], *(format_figure(column[duty]) for column in columns)) for duty in duties]


def work_chart(now: Outcome, changed: Outcome) -> Chart:
    """Duties of the year by kind, a pair of bars each."""
    lines = work(now, changed)[::-1]
    titles = [line.title for line in lines]
    pairs = [
        bars(
            x=[line.changed for line in lines],
            y=titles,
            name=CHANGED,
            orientation="h",
            marker={"color": POINT},
        ),
        bars(x=[line.now for line in lines], y=titles, name=NOW, orientation="h", marker={"color": LINE}),
    ]
    drawn = figure(
        pairs,
        FRAME_PX + ROW_PX * max(len(lines), 1),
        barmode="group",
        bargap=0.3,
        legend=LAYOUT["legend"] | {"traceorder": "reversed"},
        x={"type": "linear", "tickformat": ",d", "hoverformat": ",d", "rangemode": "tozero"},
        y={"ticks": ""},
    )
    return Chart(
        key="work-of-the-year",
        title="Duties of the coming year",
        sentence=_words(now, changed),
        figure=drawn,
        columns=(),
        rows=(),
    )


def _words(now: Outcome, changed: Outcome) -> str:
    return (
        f"{format_figure(now.total_done)} duties and {format_figure(now.total_hours)} hours as it is; "
        f"{format_figure(changed.total_done)} duties and {format_figure(changed.total_hours)} hours changed."
    )
