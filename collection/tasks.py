"""Background jobs: ids in, one call, safe to run twice. The periodic ones stand in one table."""

import logging
import uuid
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from zoneinfo import ZoneInfo

from django.conf import settings
from django.utils import timezone
from django_q.models import Schedule
from django_q.tasks import async_task

from collection import weekly_mail
from collection.actions.chain import sign_statement
from collection.actions.plans import PLAN, plan_now
from collection.actions.reminders import send_weekly_mail
from collection.actions.runs import queue_recompute
from collection.actions.sheets.incoming import forget_old
from collection.actions.sheets.jobs import run
from collection.bridge.refresh import bring_up_to_date, refresh_organisation
from collection.queries import chain, plans, reminders, runs

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Periodic:
    """A job that comes round by itself."""

    name: str
    func: str
    minutes: int


PERIODIC = (
    Periodic("heartbeat", runs.HEARTBEAT, 1),
    # Looks every hour for whoever's day has begun: each organisation has its own midnight,
    # and a night that the machine slept through is made up for in the morning.
    Periodic("nightly", "collection.tasks.nightly", 60),
    # Each organisation's own Monday morning is found the same way.
    Periodic("weekly mails", "collection.tasks.weekly_mails", 60),
    Periodic("statements", "collection.tasks.sign_statements", 60),  # likewise, each one's day by itself
    Periodic("old tables", "collection.tasks.forget_old_tables", 720),
    Periodic("plans", "collection.tasks.plan_sites", 15),  # whatever changed: work is only done where it did
)


def sync_schedules(now: datetime) -> None:
    """Make the stored schedules those of the table; running ones keep their next time."""
    Schedule.objects.exclude(name__in=[job.name for job in PERIODIC]).delete()
    for job in PERIODIC:
        facts = {"func": job.func, "schedule_type": Schedule.MINUTES, "minutes": job.minutes, "repeats": -1}
        Schedule.objects.update_or_create(
            name=job.name, defaults=facts, create_defaults=facts | {"next_run": now}
        )


def heartbeat() -> None:
    """Does nothing: that it was done proves that schedules fire and that a worker takes jobs."""


def nightly() -> None:
    """Queue the recompute of every organisation that has had none since its own midnight."""
    for organisation in runs.without_a_run_tonight(timezone.now()):
        queue_recompute(organisation.pk, trigger=runs.NIGHTLY)


def recompute_organisation(organisation_pk: int, trigger: str) -> None:
    """Recompute one organisation's fleet; a nightly run that was already made is not made again."""
    now = timezone.now()
    organisation = runs.organisation(organisation_pk)
    if organisation is None:
        log.warning("organisation %s is gone: nothing to recompute", organisation_pk)
    elif trigger != runs.NIGHTLY or runs.needs_a_run_tonight(organisation, now):
        refresh_organisation(organisation_pk, today=runs.local_day(organisation, now), trigger=trigger)


def weekly_mails() -> None:
    """Queue the mail of every member whose Monday morning has come; where mail can be sent at all."""
    if settings.SENDS_MAIL:
        for pk in reminders.mails_due(timezone.now()):
            async_task("collection.tasks.mail_the_week", pk)


def mail_the_week(pk: int) -> None:
    """Mail one member the week, unless it has gone."""
    now = timezone.now()
    send_weekly_mail(pk, now=now, send=partial(weekly_mail.send, now=now))


def sign_statements() -> None:
    """Sign the day's statement over the chains of every organisation that has none for today yet."""
    now = timezone.now()
    for organisation in chain.without_a_statement_today(now):
        sign_statement(organisation=organisation, now=now)


def work_on_sheet(pk: str, job: str) -> None:
    """Check, bring in or take back a table; a job that was started anew since does nothing."""
    run(uuid.UUID(pk), uuid.UUID(job), clock=timezone.now)


def forget_old_tables() -> None:
    """Forget the values of tables that nobody brought in."""
    forget_old(timezone.now())


def plan_sites() -> None:
    """Queue a look at the plan of every site at which somebody works."""
    for pk in plans.sites_with_hands():
        async_task(PLAN, pk)


def plan_site(site_pk: int) -> None:
    """Work out one site's plan anew if anything it depends on has changed."""
    site, now = plans.site(site_pk), timezone.now()
    if site is None:
        log.warning("site %s is gone: nothing to plan", site_pk)
        return
    today = now.astimezone(ZoneInfo(site.time_zone)).date()
    bring_up_to_date(site.organisation_id, today)
    plan_now(site=site, today=today, now=now)
