"""How dates, numbers and states are said on every page."""

from datetime import date, datetime
from typing import Any
from urllib.parse import urlencode

from django import template
from django.conf import settings
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from collection.host.version import VERSION
from scheduler.vocabulary.words import WORD

register = template.Library()

# word, shape: state is told by both, never by colour alone
STATES = {
    "act_now": ("Act now", "◆"),
    "this_week": ("This week", "●"),
    "this_month": ("This month", "◐"),
    "later": ("Later", "○"),
    "unknown": ("Unknown: look first", "?"),
    "on_hold": ("On hold", "■"),
}


@register.filter
def day(value: date | datetime | None) -> str:
    """A date as people say it: Thu 4 Dec 2026."""
    if value is None:
        return "not known"
    if isinstance(value, datetime):
        value = timezone.localtime(value)
    return f"{value:%a} {value.day} {value:%b %Y}"


@register.filter
def near_day(value: date, today: date) -> str:
    """A date as people say it of a near one: Thu 4 Dec; with the year where it is not this one."""
    return f"{value:%a} {value.day} {value:%b}" if value.year == today.year else day(value)


@register.filter
def since_or_by(value: date, today: date) -> str:
    """The date of a duty: since 3 Oct 2026 where it is past, by it where it is to come."""
    return f"{'since' if value < today else 'by'} {value.day} {value:%b %Y}"


@register.filter
def limit_day(value: date, today: date) -> str:
    """The day by which something is to be done: by Fri 4 Dec; since Fri 4 Sep, where that has passed."""
    return f"{'since' if value < today else 'by'} {near_day(value, today)}"


@register.filter
def moment(value: datetime | None) -> str:
    """A time on a day, in the zone in force."""
    if value is None:
        return "not known"
    return f"{day(value)}, {timezone.localtime(value):%H:%M}"


@register.filter
def days_from(value: date | None, today: date) -> str:
    """How far a date lies from today in words."""
    if value is None:
        return ""
    days = (value - today).days
    if days == 0:
        return "today"
    if abs(days) == 1:
        return "tomorrow" if days == 1 else "yesterday"
    size = _span(abs(days))
    return f"in {size}" if days > 0 else f"{size} ago"


def _span(days: int) -> str:
    if days < 60:
        return f"{days} days"
    months = round(days / 30.44)
    return f"{months} months" if months < 24 else f"{int(days / 365.25)} years"


@register.filter
def hours(minutes: int) -> str:
    """A length of work as people say it: 3 h 10 min."""
    whole, rest = divmod(minutes, 60)
    if not whole:
        return f"{rest} min"
    return f"{whole} h {rest} min" if rest else f"{whole} h"


@register.filter
def first_of(rows: list[object], most: int | None) -> list[object]:
    """The first so many of a list; all where no number is given."""
    return rows[:most]


BADGES = {
    name: format_html(
        '<span class="state state-{}"><span aria-hidden="true">{}</span> {}</span>', name, shape, word
    )
    for name, (word, shape) in STATES.items()
}


@register.simple_tag
def state(name: str) -> SafeString:
    """The badge of a state: word and shape."""
    return BADGES[name]


@register.simple_tag(takes_context=True)
def word(context: template.Context, text: str) -> str:
    """A word that opens its meaning, at its first place on a page; any other text as it is."""
    page: Any = context.dicts[0]  # of all that it includes too
    opened = page.setdefault("words opened", set())
    row = WORD.get(text.casefold())
    if row is None or row.slug in opened:
        return text
    opened.add(row.slug)
    return format_html(
        '<button type="button" class="word" popovertarget="word-{slug}">{text}</button>'
        '<span popover id="word-{slug}" class="meaning" role="note">{meaning}</span>',
        slug=row.slug,
        text=text,
        meaning=row.meaning,
    )


@register.simple_tag(takes_context=True)
def back_here(context: dict[str, Any]) -> str:
    """Behind the address of a form: this page is where it leads back to."""
    return f"?{urlencode({'next': context['request'].get_full_path()})}"


@register.simple_tag
def version() -> str:
    """The program's version."""
    return VERSION


@register.simple_tag
def sends_mail() -> bool:
    """Whether a mail server is named, so that a page may promise mail."""
    return bool(settings.SENDS_MAIL)
