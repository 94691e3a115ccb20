"""Measured values in the person's unit, and months by name."""

import calendar
from datetime import date
from typing import Any

from django import template

from collection.drawing.days import format_day
from collection.web.units import edge

register = template.Library()


@register.filter
def temperature(value_c: float | None, units: str) -> str:
    """A temperature in the units of a person (``person.units``)."""
    if value_c is None:
        return "not known"
    return edge(units).unit("°C").format(value_c, ".0f")


@register.filter
def distance(value_km: float, units: str) -> str:
    """A distance in the units of a person."""
    return edge(units).unit("km").format(value_km, ".0f")


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
    return f"filled; {days} day{'' if days == 1 else 's'} only" if days else "filled"


@register.filter
def difference(value_k: float, units: str) -> str:
    """A difference of temperatures in the units of a person."""
    return edge(units).unit("K").format(value_k, ".1f")


@register.filter
def iso_day(text: str) -> str:
    """A day kept as ISO text: 3 Oct 2026."""
    return format_day(date.fromisoformat(text[:10]))
