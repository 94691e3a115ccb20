"""Background jobs: ids in, one call, safe to run twice. The periodic ones stand in one table."""

import logging
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from zoneinfo import ZoneInfo

from django.conf import settings
from django.utils import timezone
from django_q.models import Schedule

from collection import weekly_mail
from collection.actions.chain import sign_todays_statement
from collection.actions.plans import PLAN, plan_now
from collection.actions.reminders import send_weekly_mail
from collection.actions.runs import queue_nightly, wake_quiet_runs, work_on_run
from collection.bridge.refresh import bring_up_to_date
from collection.jobs import leave
from collection.queries import chain, plans, reminders, runs

log = logging.getLogger(__name__)

A_TURN = timedelta(minutes=1)  # for one run, before others have theirs


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
    # What was lost with a worker, a host or the queue is taken up again.
    Periodic("runs left behind", "collection.tasks.wake_runs", 1),
    Periodic("nightly", "collection.tasks.nightly", 60),
    # Each organisation's own Monday morning is found the same way.
    Periodic("weekly mails", "collection.tasks.weekly_mails", 60),
    Periodic("statements", "collection.tasks.sign_statements", 60),  # likewise, each one's day by itself
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
    now = timezone.now()
    for organisation in runs.without_a_run_tonight(now):
        queue_nightly(organisation, now=now)


def recompute(run_pk: int) -> None:
    """Help with a run; one that is done, or gone, needs none."""
    now = timezone.now()
    work_on_run(run_pk, now=now, until=now + A_TURN)


def wake_runs() -> None:
    """See that no run waits for a job that is lost."""
    wake_quiet_runs(timezone.now())


def weekly_mails() -> None:
    """Queue the mail of every member whose Monday morning has come; where mail can be sent at all."""
    if settings.SENDS_MAIL:
        for pk in reminders.mails_due(timezone.now()):
            leave("collection.tasks.mail_the_week", pk)


def mail_the_week(pk: int) -> None:
    """Mail one member the week, unless it has gone."""
    now = timezone.now()
    send_weekly_mail(pk, now=now, send=partial(weekly_mail.send, now=now))


def sign_statements() -> None:
    """Sign the day's statement over the chains of every organisation that has none for today yet."""
    now = timezone.now()
    for organisation in chain.without_a_statement_today(now):
        sign_todays_statement(organisation=organisation, now=now)


def plan_sites() -> None:
    """Queue a look at the plan of every site at which somebody works."""
    for pk in plans.sites_with_hands():
        leave(PLAN, pk)


def plan_site(site_pk: int) -> None:
    """Work out one site's plan anew if anything it depends on has changed."""
    site, now = plans.site(site_pk), timezone.now()
    if site is None:
        log.warning("site %s is gone: nothing to plan", site_pk)
        return
    today = now.astimezone(ZoneInfo(site.time_zone)).date()
    bring_up_to_date(site.organisation_id, today)
    plan_now(site=site, today=today, now=now)
