"""Measured values in the person's unit, and months by name."""

import calendar

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
def distance(value_km: float, units: str) -> str:
    """A distance in the units of a person."""
    reader = edge(units)
    return f"{reader.from_km(value_km):.0f} {reader.distance_unit}"


@register.filter
def month_name(number: int) -> str:
    """January for 1."""
    return calendar.month_name[number]
