"""A member's calendar feed and weekly mail: begun, ended, sent."""

import hashlib
import secrets
from collections.abc import Callable
from datetime import date, datetime

from django.db import transaction

from collection.models import CalendarFeed, Membership, WeeklyMail
from collection.notices.queries.reminders import A_WEEK, monday_to_send

TOKEN_BYTES = 32


def digest_of(token: str) -> str:
    """What is kept of a feed's secret."""
    return hashlib.sha256(token.encode()).hexdigest()


def new_feed(*, membership: Membership, now: datetime) -> str:
    """A new secret address for the member's calendar, told this once; an earlier one ends."""
    token = secrets.token_urlsafe(TOKEN_BYTES)
    CalendarFeed.objects.update_or_create(
        membership=membership, defaults={"digest": digest_of(token), "made_at": now}
    )
    return token


def end_feed(*, membership: Membership) -> None:
    """The member's calendar address answers no more."""
    CalendarFeed.objects.filter(membership=membership).delete()


def set_weekly_mail(*, membership: Membership, wanted: bool) -> None:
    """Begin or end the weekly mail."""
    if wanted:
        WeeklyMail.objects.get_or_create(membership=membership)
    else:
        WeeklyMail.objects.filter(membership=membership).delete()


def send_weekly_mail(pk: int, *, now: datetime, send: Callable[[Membership, date], None]) -> bool:
    """Send a member's week by ``send``, once a week however often it is asked; whether it went now.

    If sending fails the week counts as not sent, and the error is the caller's to see.
    """
    mail = (
        WeeklyMail.objects.select_related("membership__person", "membership__organisation")
        .filter(pk=pk)
        .first()
    )
    monday = monday_to_send(mail, now) if mail else None
    if mail is None or monday is None:
        return False
    with transaction.atomic():
        waiting = WeeklyMail.objects.filter(pk=pk).exclude(last_monday__range=(monday, monday + A_WEEK))
        if not waiting.update(last_monday=monday):
            return False  # another worker was quicker
        send(mail.membership, monday)
    return True
