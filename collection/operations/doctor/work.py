"""What goes on by itself: worker, jobs, forecasts, backups, and the clock that all of it goes by."""

import socket
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

from django_q.models import Schedule

from collection.host import jobs
from collection.life import queries as runs
from collection.models import BackupRun, Organisation
from collection.operations.backup.archive import BackupFault, checked
from collection.operations.backup.sealed import digest_of, is_sealed
from collection.operations.doctor.finding import Finding, Look, odd
from collection.operations.queries import operations as query
from collection.operations.queries.installation import BACKUP_OVERDUE, LONGEST_WAIT, clock_behind
from collection.operations.schedules import PERIODIC

START = "Start the site with manage.py serve, or a worker alone with manage.py qcluster."
FORECAST_OVERDUE = timedelta(hours=50)  # policy: two nights missed
FAILURES_WITHIN = timedelta(days=7)  # policy


def worker(look: Look) -> Iterator[Finding]:
    """It lives."""
    if not runs.worker_is_alive(look.now):
        last = runs.last_heartbeat()
        since = f"since {last:%Y-%m-%d %H:%M} UTC" if last else "and never has"
        yield Finding(f"The background worker does not answer, {since}.", START)


def schedules(_look: Look) -> Iterator[Finding]:
    """What comes round by itself is set to do so."""
    missing = sorted({job.name for job in PERIODIC} - set(Schedule.objects.values_list("name", flat=True)))
    if missing:
        yield Finding(
            f"Not set to come round by themselves: {', '.join(missing)}.",
            "Start the site once with manage.py serve.",
        )


def queue(look: Look) -> Iterator[Finding]:
    """Nothing waits long."""
    since = query.oldest_waiting()
    if since and look.now - since > LONGEST_WAIT:
        yield Finding(
            f"{jobs.waiting()} jobs wait, the first since {since:%Y-%m-%d %H:%M} UTC.",
            f"{START} If it runs, give it more processes with LONGSTAND_WORKERS.",
        )


def failures(look: Look) -> Iterator[Finding]:
    """Jobs end well."""
    for func, count in query.failed_jobs(look.now - FAILURES_WITHIN).items():
        yield Finding(
            f"The job {func} failed {count} times within a week.",
            "Read why on the admin pages under Failed tasks; report it where it is not your disk.",
        )


def forecasts(look: Look) -> Iterator[Finding]:
    """Every organisation's cars were computed lately."""
    for organisation in Organisation.objects.order_by("pk"):
        last = runs.last_run(organisation, runs.NIGHTLY)
        if last and look.now - last.started_at > FORECAST_OVERDUE:
            yield Finding(
                f"The cars of {organisation} were last computed on {last.started_at:%Y-%m-%d}.",
                f"Pages still show right dates. {START}",
            )


def backups(look: Look) -> Iterator[Finding]:
    """There is a recent one, and it is still there."""
    last = query.last_backup()
    if failed := query.failed_since(last):
        yield Finding(
            f"The backup of {failed.started_at:%Y-%m-%d %H:%M} UTC failed: {failed.error}",
            "Mend that, or let LONGSTAND_BACKUPS name another folder; then run manage.py backup.",
        )
    if last is None:
        yield Finding("There is no backup.", "Run manage.py backup; the worker takes one each night.")
        return
    if look.now - last.started_at > BACKUP_OVERDUE:
        yield Finding(
            f"The last backup is of {last.started_at:%Y-%m-%d %H:%M} UTC.",
            "Run manage.py backup, and see that the worker runs at night.",
        )
    yield from _file_of(last, deep=look.deep)


def _file_of(run: BackupRun, *, deep: bool) -> Iterator[Finding]:
    path = Path(run.file)
    if run.host != socket.gethostname():
        yield odd(f"The last backup lies on {run.host}: it was not looked at.", "Run manage.py doctor there.")
    elif not path.exists():
        yield odd(f"The last backup, {path}, is no longer there.", "If you moved it, all is well.")
    elif deep:
        try:
            if not is_sealed(path):
                checked(path)
            elif digest_of(path) != run.sha256:
                raise BackupFault(f"{path} is damaged: it is not what was backed up.")
        except BackupFault as fault:
            yield Finding(str(fault), "Run manage.py backup.")


def rehearsals(look: Look) -> Iterator[Finding]:
    """The last nightly backup was rehearsed, and came back sound."""
    last = query.last_rehearsal()
    if last is None:
        return
    of = f"The rehearsal of the backup of {last.started_at:%Y-%m-%d %H:%M} UTC"
    if last.rehearsed_at is None:
        yield Finding(f"{of} could not be held: {last.rehearsal}", "Mend that; it is tried again each night.")
    elif last.rehearsal:
        yield Finding(
            f"{of} found: {last.rehearsal}",
            "See with manage.py doctor --deep whether it is so here too, and with manage.py restore "
            "--rehearse which older backup is sound.",
        )
    elif look.now - last.rehearsed_at > BACKUP_OVERDUE:
        yield odd(f"{of} was the last.", "The worker holds one each night: see that it runs.")


def clock(look: Look) -> Iterator[Finding]:
    """It is not behind what was written down."""
    if late := clock_behind(look.now):
        yield Finding(
            f"The clock of this machine is {_length(late)} behind the newest thing written down.",
            "Set the clock, and let it be kept by a time server: entries carry its time for ever.",
        )


def _length(span: timedelta) -> str:
    hours, minutes = divmod(round(span.total_seconds() / 60), 60)
    return f"{hours} h {minutes} min" if hours else f"{minutes} min"
