"""Days of a chart: ordinals as dates, and dates as the script and as people read them."""

from datetime import date


def date_of(day: float) -> date:
    """The date of an ordinal."""
    return date.fromordinal(int(day))


def iso_day(day: float) -> str:
    """An ordinal as the figure wants it."""
    return date_of(day).isoformat()


def format_day(day: date) -> str:
    """A day in the words of a chart: 3 Oct 2026."""
    return f"{day.day} {day:%b %Y}"
