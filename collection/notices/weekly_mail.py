"""The week by mail: what is due on a person's cars, in plain text and in HTML."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from collection.life.duties import titles_at
from collection.life.refresh import recompute_stale
from collection.models import Membership
from collection.notices.queries.reminders import agenda, left_undone, planned_days
from collection.permissions import Access
from collection.web.templatetags.longstand import day


def send(membership: Membership, monday: date, *, now: datetime) -> None:
    """Mail the member the week that begins on ``monday``."""
    access = Access(membership.person, membership.organisation, membership.role)
    with timezone.override(access.time_zone):
        _message(access, monday, now).send()


def _message(access: Access, monday: date, now: datetime) -> EmailMultiAlternatives:
    today = now.astimezone(ZoneInfo(str(access.time_zone))).date()
    recompute_stale(access, today)
    sunday = monday + timedelta(days=6)
    days = agenda(access, today=today, until=sunday)
    plans = planned_days(access, max(monday, today), sunday)
    week_before = datetime.combine(monday - timedelta(days=7), time(), access.time_zone)
    titles = titles_at(access.organisation.pk)
    undone = left_undone(access, week_before) if access.may_manage else []
    facts = {
        "person": access.person,
        "organisation": access.organisation,
        "monday": monday,
        "today": today,
        "days": days,
        "round": [each for _, some in plans for each in some],
        "alone": all(each.person == access.person for _, some in plans for each in some),
        "undone": [(entry, titles.get(str(entry.details.get("duty")), "Work")) for entry in undone],
        "address": settings.ADDRESS,
        "page": settings.ADDRESS + reverse("worksheet" if access.may_work else "due"),
        "end": settings.ADDRESS + reverse("reminders"),
    }
    message = EmailMultiAlternatives(
        subject=f"{access.organisation}: the week of {day(monday)}",
        body=render_to_string("notices/week.txt", facts),
        to=[access.person.email],
        headers={"List-Unsubscribe": f"<{facts['end']}>"},
    )
    message.attach_alternative(render_to_string("notices/week.html", facts), "text/html")
    return message
