"""Measured values in the person's unit, and months by name."""

import calendar
from typing import Any

from django import template

from collection.units import edge

register = template.Library()


@register.filter
def temperature(value_c: float | None, units: str) -> str:
    """A temperature in the units of a person (``person.units``)."""
    if value_c is None:
        return "not known"
    reader = edge(units)
    return f"{reader.from_c(value_c):.0f} {reader.temperature_unit}".replace("-", "−")


@register.filter
def month_name(number: int) -> str:
    """January for 1."""
    return calendar.month_name[number]


@register.filter
def covered(number: int, facts: dict[str, Any]) -> str:
    """How well a logger covered a month of the year: ``facts`` are those of a measured climate."""
    years, days = facts["years"][number - 1], facts["days"][number - 1]
    if years:
        return f"measured, {years} year{'s' if years > 1 else ''}"
    return f"filled; {days} days only" if days else "filled"
