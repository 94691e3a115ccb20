"""Dates, numbers and sources as explanations say them."""

from datetime import date

from scheduler.duties.conditions import Fleet
from scheduler.duties.windows import Source
from scheduler.vocabulary.constants import Constant
from scheduler.vocabulary.errors import BadInput


def on_day(day: float) -> date:
    """A day ordinal as a date."""
    return date.fromordinal(int(day))


def spoken(day: float, never: str = "not within four years") -> str:
    """A day as people say it, "3 Oct 2026"; ``never`` where it is NaN."""
    if day != day:
        return never
    when = on_day(day)
    return f"{when.day} {when:%b %Y}"


def cited(constant: Constant) -> Source:
    """Where a constant comes from and how well it is known."""
    return Source(constant.source, constant.standing.value)


def known_day(day: float) -> date | None:
    """A day ordinal as a date, None where it is NaN."""
    return None if day != day else on_day(day)


def number(value: float, digits: int = 0) -> str:
    """A number with a real minus sign."""
    return f"{value:.{digits}f}".replace("-", "−")


def counted_days(days: float) -> str:
    """A number of days: "1 day", "3 days"."""
    return f"{number(days)} day" if round(days) == 1 else f"{number(days)} days"


def one_car(fleet: Fleet) -> Fleet:
    """The fleet, which must hold a single car: BadInput otherwise."""
    if len(fleet) != 1:
        raise BadInput("fleet", f"an explanation is for one car, this holds {len(fleet)}")
    return fleet
