"""Background jobs: ids in, one call, safe to run twice. The periodic ones stand in one table."""

import logging
import uuid
from datetime import timedelta
from functools import partial
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from django.utils import timezone

from collection.api.actions.writes import forget_old_writes
from collection.care.actions.sweeping import sweep
from collection.care.queries.clock import clock_behind_statements
from collection.host.jobs import leave
from collection.life import queries as runs
from collection.life.actions import queue_nightly, wake_quiet_runs, work_on_run
from collection.life.refresh import bring_up_to_date
from collection.loggers import queries as loggers
from collection.loggers.actions.files import forget_old_files, read_file
from collection.notices import statement_mail, weekly_mail
from collection.notices.actions.reminders import send_weekly_mail
from collection.notices.actions.webhooks import forget_old_changes, send_what_waits
from collection.notices.queries import reminders, webhooks
from collection.notices.webhook_mail import mail_switched_off
from collection.operations.actions.backups import nightly_backup
from collection.operations.backup.keep import NIGHTLY as NIGHTLY_BACKUP
from collection.operations.queries import operations
from collection.proof import queries as statements
from collection.proof.actions import sign_todays_statement
from collection.proof.witnessing import show
from collection.round.actions.plans import PLAN, plan_now
from collection.round.queries import plans
from collection.sensors import queries as sensors
from collection.sensors.actions.meaning import make_sense
from collection.spreadsheets.actions.incoming import forget_old
from collection.spreadsheets.actions.jobs import run
from collection.spreadsheets.actions.jobs import wake as wake_dead_tables

log = logging.getLogger(__name__)

A_TURN = timedelta(minutes=1)  # for one run, before others have theirs


LONGEST_BACKUP_SECONDS = 6 * 3600


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
    for organisation in statements.without_a_statement_today(now):
        if behind := clock_behind_statements(organisation, now):
            log.warning("the clock stands %s behind the statements of %s: set it right", behind, organisation)
        sign_todays_statement(organisation=organisation, now=now)


def show_statements() -> None:
    """Queue the showing of signed statements to every witness that has yet to see some."""
    for pk in statements.witnesses_due(timezone.now()):
        leave("collection.tasks.show_statements_to", pk)


def show_statements_to(witness_pk: int) -> None:
    """Have statements stamped, or mail them; what fails is tried again after a growing pause."""
    show(witness_pk, clock=timezone.now, mail=statement_mail.send)


def sweep_files() -> None:
    """Delete what a kill left in the media folder."""
    if swept := sweep():
        log.warning("%s files that no entry names were swept", swept)


def work_on_sheet(pk: str, job: str) -> None:
    """Check, bring in or take back a table; a job that was started anew since does nothing."""
    run(uuid.UUID(pk), uuid.UUID(job), clock=timezone.now)


def wake_tables() -> None:
    """Go on with tables whose job was lost with a worker or a host."""
    wake_dead_tables(timezone.now)


def forget_old_tables() -> None:
    """Forget the values of tables that nobody brought in."""
    forget_old(timezone.now())


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


def send_changes() -> None:
    """Queue the sending of changed dates to every address for which some wait."""
    for pk in webhooks.with_something_due(timezone.now()):
        leave("collection.tasks.send_changes_to", pk)


def send_changes_to(webhook_pk: UUID) -> None:
    """Send one address what is due for it; what fails is tried again after a growing pause."""
    send_what_waits(webhook_pk, clock=timezone.now, tell=mail_switched_off)


def forget_old_messages() -> None:
    """Delete messages and answers that nobody asks for any more."""
    now = timezone.now()
    forget_old_changes(now=now)
    forget_old_writes(now=now)


def read_logger_file(pk: int) -> None:
    """Read one large logger file that waits; one that was read or accepted meanwhile is left alone."""
    file = loggers.waiting(pk)
    if file is None:
        log.warning("logger file %s does not wait any more: nothing to read", pk)
    else:
        read_file(file, now=timezone.now())


def forget_logger_files() -> None:
    """Forget logger files that nobody accepted, and their bytes."""
    forget_old_files(now=timezone.now())


def hear_sensors() -> None:
    """Queue a look at every sensor that has said something."""
    for pk in sensors.with_something_new():
        leave("collection.tasks.hear_sensor", pk)


def hear_sensor(pk: int) -> None:
    """Log what one sensor shows, and keep as hours what is older; one that is gone needs none."""
    if sensor := sensors.sensor(pk):
        make_sense(sensor, now=timezone.now())


def back_up() -> None:
    """Queue the night's backup of the whole installation once its hour has come."""
    if operations.nightly_backup_is_due(timezone.now(), settings.BACKUP_HOUR, NIGHTLY_BACKUP):
        leave("collection.tasks.take_nightly_backup", timeout=LONGEST_BACKUP_SECONDS)


def take_nightly_backup() -> None:
    """Take it, unless it was taken or another process is at it."""
    now = timezone.now()
    if operations.nightly_backup_is_due(now, settings.BACKUP_HOUR, NIGHTLY_BACKUP):
        nightly_backup(clock=timezone.now)
