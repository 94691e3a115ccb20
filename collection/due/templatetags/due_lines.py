"""Duties of a car as items of a list."""

from collections.abc import Iterable
from datetime import date
from functools import lru_cache

from django import template
from django.urls import reverse
from django.utils.html import format_html_join
from django.utils.safestring import SafeString

from collection.life.duties import DutyLine
from collection.web.templatetags.longstand import BADGES, days_from

register = template.Library()


@lru_cache(maxsize=10_000)  # a page has hundreds of them, and asks for most of them again
def _why(car: int, duty: str) -> str:
    return reverse("why", args=(car, duty))


@register.filter
def not_pressing(lines: Iterable[DutyLine], today: date) -> SafeString:
    """Items of a list: duties that wait, each with its badge, its reason's address and when it falls.

    Written here since a long page has hundreds of them, and a template takes ten times as long.
    """
    return format_html_join(
        "",
        '<li>{} <a href="{}">{}</a> <span class="soft">{}</span></li>',
        (
            (
                BADGES[line.state],
                _why(line.vehicle.pk, line.duty),
                line.title,
                line.hold or days_from(line.due, today) or "no date in sight",
            )
            for line in lines
        ),
    )
