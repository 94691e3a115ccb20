"""The jobs that come round by themselves, in one table, and the stored schedules made to fit it.

A schedule is locked by the cluster that looks at it. Nightly runs and statements look again under a lock of
the organisation; weekly mails are claimed by an update.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django_q.models import OrmQ, Schedule

from collection.life import queries as runs

LONGEST_LOCK = timedelta(seconds=settings.JOB_RETRY_S)  # after it a job is handed out again


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
    Periodic("witnesses", "collection.tasks.show_statements", 5),
    Periodic("sweep", "collection.tasks.sweep_files", 24 * 60),
    Periodic("logger files", "collection.tasks.forget_logger_files", 360),  # those nobody accepted in time
    Periodic("sensors", "collection.tasks.hear_sensors", 60),
    Periodic("tables left behind", "collection.tasks.wake_tables", 1),
    Periodic("old tables", "collection.tasks.forget_old_tables", 720),
    Periodic("plans", "collection.tasks.plan_sites", 15),  # whatever changed: work is only done where it did
    # Changed dates are written down with the change; this sends them, also what a dead process left.
    Periodic("webhooks", "collection.tasks.send_changes", 1),
    Periodic("old messages", "collection.tasks.forget_old_messages", 24 * 60),
    Periodic("backup", "collection.tasks.back_up", 60),  # a night that was missed is made up for
)


def sync_schedules(now: datetime) -> None:
    """Make the stored schedules those of the table; running ones keep their next time.

    A time further off than the job's own interval, and a job put off beyond its second try, are of a
    clock that ran ahead and was set right: they are due now.
    """
    Schedule.objects.exclude(name__in=[job.name for job in PERIODIC]).delete()
    for job in PERIODIC:
        facts = {"func": job.func, "schedule_type": Schedule.MINUTES, "minutes": job.minutes, "repeats": -1}
        Schedule.objects.update_or_create(
            name=job.name, defaults=facts, create_defaults=facts | {"next_run": now}
        )
        Schedule.objects.filter(name=job.name, next_run__gt=now + timedelta(minutes=job.minutes)).update(
            next_run=now
        )
    OrmQ.objects.filter(lock__gt=now + LONGEST_LOCK).update(lock=now)
