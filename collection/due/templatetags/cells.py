"""Cells of a page of many cars, and dates short enough for them."""

from datetime import date

from django import template
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from collection.due.cells import Cell
from collection.models import Entry
from collection.web.templatetags.longstand import STATES
from scheduler.vocabulary.tags import TAG

register = template.Library()
FAR_DAYS = 300  # from here on the month and year say enough

NOTHING = mark_safe(
    '<span class="mark-unknown"><span aria-hidden="true">–</span> none'
    '<span class="unseen"> on record</span></span>'
)


@register.filter
def short_day(value: date | None, today: date) -> str:
    """A date in a few letters, with its year where it is not this one: 4 Dec, 4 Jan 2027, Mar 2028."""
    if value is None:
        return ""
    if abs((value - today).days) > FAR_DAYS:
        return f"{value:%b %Y}"
    return f"{value.day} {value:%b}" if value.year == today.year else f"{value.day} {value:%b %Y}"


@register.simple_tag
def cell_state(cell: Cell, today: date) -> SafeString:
    """How a part of a car stands: shape, word, next date; a link to the reason where it wants somebody now.

    Written here since a page has hundreds of them, and a template takes ten times as long.
    """
    if cell.line is None:
        return NOTHING
    word, shape = STATES[cell.state]
    word, colon, more = word.partition(":")  # what follows is the same everywhere: no room for it here
    text = format_html(
        '<span class="mark-{}"><span aria-hidden="true">{}</span> {}<span class="unseen">{}{}</span></span>',
        cell.state,
        shape,
        word,
        colon,
        more,
    )
    if cell.presses:
        address = reverse("why", args=(cell.line.vehicle.pk, cell.line.duty))
        text = format_html(
            '<a class="cell" href="{}">{}<span class="unseen">: {}</span></a>', address, text, cell.line.title
        )
    day = short_day(cell.on, today)
    return format_html('{} <span class="day">{}</span>', text, day) if day else text


@register.filter
def tag_name(tag: Entry) -> str:
    """What a warning tag says."""
    return TAG[tag.details["tag"]].title
