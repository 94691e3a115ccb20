"""Checking, bringing in and taking back, as jobs: started once, seen at work, started again if they die.

A job holds a number of its own. Whoever starts another takes the table away from it: the number is asked for
with every sign of life and once more, under a lock, in the transaction that stores. So a job that was thought
dead stores nothing, and one that dies leaves nothing half-written.

A table is checked outside any transaction, since that takes long, and stored in one.
"""

import uuid
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.care.actions.record import Edit, open_records
from collection.host.jobs import leave
from collection.life.queries import local_day, worker_is_alive
from collection.life.refresh import bring_up_to_date
from collection.life.summaries import invalidate
from collection.models import Basis, Person, SheetImport, SheetKind, SheetState
from collection.permissions import EDIT_CARS, MANAGE, WORK, may_in, zone_of_organisation
from collection.spreadsheets.actions import cars, log
from collection.spreadsheets.actions.faults import faults_sheet
from collection.spreadsheets.actions.findings import Beat, Findings, Superseded
from collection.spreadsheets.actions.incoming import mapping_of, reader_of, sheets_of
from collection.spreadsheets.actions.log_store import store_log
from collection.spreadsheets.actions.undoing import ready_to_take_back, record_print
from collection.spreadsheets.queries import garage_of, places_of
from collection.spreadsheets.sheets.cells import pack
from collection.spreadsheets.sheets.guessing import column_of
from collection.spreadsheets.sheets.headings import heading_of
from collection.spreadsheets.sheets.parsing import Parsed
from collection.spreadsheets.sheets.shaping import RowName, table_of

JOB = "collection.tasks.work_on_sheet"
AT_ONCE = 300  # rows that are done while the page waits; more are left to the worker
DEAD_AFTER = timedelta(minutes=2)  # without a sign of life
Clock = Callable[[], datetime]
# what may be asked for: the states from which, and that in which it is at work
STEPS: dict[str, tuple[tuple[str, ...], str]] = {
    "check": ((SheetState.MAPPING, SheetState.CHECKED), SheetState.CHECKING),
    "import": ((SheetState.CHECKED,), SheetState.IMPORTING),
    "undo": ((SheetState.IMPORTED,), SheetState.UNDOING),
}


def start(*, row: SheetImport, step: str, by: Person, clock: Clock, here: bool = False) -> bool:
    """Start a step, once, in the name of whoever asks for it; True when the worker has it, never ``here``.

    False when it was done at once, or is at work already. A job that gave no sign of life for a while may
    be started again.
    """
    now, (before, at_work) = clock(), STEPS[step]
    job = uuid.uuid4()
    mine = SheetImport.objects.filter(pk=row.pk)
    facts = {"state": at_work, "job": job, "beat_at": now, "done": 0, "problem": "", "by": by}
    begun = mine.filter(state__in=before).update(**facts)
    begun = begun or mine.filter(state=at_work, beat_at__lt=now - DEAD_AFTER).update(**facts)
    if not begun:
        return False
    if not here and row.rows > AT_ONCE and worker_is_alive(now):
        transaction.on_commit(partial(leave, JOB, str(row.pk), str(job)))
        return True
    run(row.pk, job, clock=clock)
    return False


def run(pk: uuid.UUID, job: uuid.UUID, *, clock: Clock) -> None:
    """Do the step that was started under this number; nothing where it is another's by now."""
    row = SheetImport.objects.select_related("organisation", "by").filter(pk=pk, job=job).first()
    if row is None:
        return
    work = {SheetState.CHECKING: _check, SheetState.IMPORTING: _import, SheetState.UNDOING: _undo}
    if row.state not in work:
        return
    try:
        work[SheetState(row.state)](row, job, clock)
    except Superseded:
        return
    except ValidationError as fault:
        _stop(row, job, " ".join(fault.messages), clock())
    except Exception:
        _stop(
            row,
            job,
            "Something went wrong that is no fault of the table; nothing was stored. Try again.",
            clock(),
        )
        raise


def _stop(row: SheetImport, job: uuid.UUID, problem: str, now: datetime) -> None:
    """Back to where it can be mended or tried again; a failed transaction has left nothing."""
    back = SheetState.IMPORTED if row.state == SheetState.UNDOING else SheetState.MAPPING
    SheetImport.objects.filter(pk=row.pk, job=job).update(state=back, problem=problem, job=None, beat_at=now)


@dataclass
class _Work:
    """What a check made ready: what it found, and how it is stored."""

    found: Findings
    store: Callable[[datetime], dict[str, Any]]


def _beat(row: SheetImport, job: uuid.UUID, clock: Clock) -> Beat:
    def beat(done: int) -> None:
        if not SheetImport.objects.filter(pk=row.pk, job=job).update(done=done, beat_at=clock()):
            raise Superseded

    return beat


@dataclass
class _Lines:
    """The rows of a table, each read; lines that are no rows of it, columns without a meaning."""

    rows: list[Parsed]
    skipped: list[tuple[RowName, str]]
    columns: list[str]

    def tell(self, findings: Findings) -> None:
        """Nothing is left out in silence."""
        for name, why in self.skipped:
            findings.note(name, "", f"{why}: left out")
        findings.left = self.columns


def _lines(row: SheetImport) -> _Lines:
    """The rows of the table, each read; ValidationError where something must be said of a column first."""
    reader = reader_of(row)
    table = table_of(sheets_of(row), reader.mapping.shape)
    if asked := reader.mapping.questions():
        names = ", ".join(sorted({f"{what} of “{heading_of(table.headings, at)}”" for at, what in asked}))
        raise ValidationError(f"Say first: {names}.")
    unread = [at for at in range(len(table.headings)) if at not in reader.mapping.columns]
    left = [heading_of(table.headings, at) for at in unread if column_of(table, at)]
    return _Lines(list(reader.rows(table)), table.skipped, left)


def _read(row: SheetImport, beat: Beat, now: datetime) -> _Work:
    if row.by is None:
        raise ValidationError("Whoever sent this table is no longer here: send it again.")
    needed = EDIT_CARS if row.kind == SheetKind.CARS else WORK
    if not may_in(row.by, row.organisation, needed):
        raise ValidationError("Your role no longer allows this: ask a manager.")
    return (_read_cars if row.kind == SheetKind.CARS else _read_log)(row, beat, now)


def _read_cars(row: SheetImport, beat: Beat, now: datetime) -> _Work:
    organisation, today = row.organisation, local_day(row.organisation, now)
    may = row.by is not None and may_in(row.by, organisation, MANAGE)
    answers = mapping_of(row).answers

    def barn() -> cars.Barn:
        return cars.barn_of(
            organisation, today, may_add_owners=may, skip_doubles=row.skip_doubles, answers=answers
        )

    lines = _lines(row)
    findings = cars.check_cars(lines.rows, barn(), beat)
    lines.tell(findings)

    def store(at: datetime) -> dict[str, Any]:
        here = barn()
        made = list(cars.store_cars(_lines(row).rows, here))
        open_records(made, Edit(row.by, at, basis=Basis.DOCUMENT))
        return {"made": {str(car.pk): record_print(car.pk) for car in made}, "owners": len(here.new_owners)}

    return _Work(findings, store)


def _read_log(row: SheetImport, beat: Beat, now: datetime) -> _Work:
    by = row.by
    if by is None:
        raise Superseded
    table = _lines(row)
    lines = log.Log(
        garage_of(row.organisation),
        places_of(row.organisation),
        zone_of_organisation(row.organisation),
        now,
        mapping_of(row).answers.get("car", {}),
        row.skip_doubles,
        by.name,
    )
    findings = log.check_log(table.rows, lines, beat)
    table.tell(findings)

    def store(at: datetime) -> dict[str, Any]:
        touched = store_log(lines.lines, sheet=row.pk, by=by, now=at)
        return {"cars": touched, "entries": len(lines.lines)}

    return _Work(findings, store)


def _check(row: SheetImport, job: uuid.UUID, clock: Clock) -> None:
    work = _read(row, _beat(row, job, clock), clock())
    SheetImport.objects.filter(pk=row.pk, job=job).update(
        state=SheetState.CHECKED, report=work.found.report(), beat_at=clock()
    )


def _import(row: SheetImport, job: uuid.UUID, clock: Clock) -> None:
    """Check once more against the record as it is now; then everything in one transaction, or nothing."""
    work = _read(row, _beat(row, job, clock), clock())
    if work.found.counts["faults"]:
        SheetImport.objects.filter(pk=row.pk, job=job).update(
            state=SheetState.CHECKED,
            report=work.found.report(),
            beat_at=clock(),
            problem="Something changed since the check: nothing was stored. See what is to be corrected.",
        )
        return
    with transaction.atomic():
        _hold(row, job)
        now = clock()
        result = work.store(now) | {"counts": dict(work.found.counts)}
        SheetImport.objects.filter(pk=row.pk).update(
            state=SheetState.IMPORTED,
            result=result,
            report=work.found.report(),
            data=pack([faults_sheet(row)]) if mapping_of(row).aside else None,
            ended_at=now,
            done=row.rows,
        )
    bring_up_to_date(row.organisation_id, local_day(row.organisation, now))


def _undo(row: SheetImport, job: uuid.UUID, clock: Clock) -> None:
    take_back = ready_to_take_back(row, now=clock())
    _beat(row, job, clock)(0)
    with transaction.atomic():
        _hold(row, job)
        now = clock()
        report, touched = take_back(now)
        invalidate(touched)
        SheetImport.objects.filter(pk=row.pk).update(state=SheetState.UNDONE, undone=report, ended_at=now)
    bring_up_to_date(row.organisation_id, local_day(row.organisation, now))


def _hold(row: SheetImport, job: uuid.UUID) -> None:
    """Nobody else may write for this table until the transaction ends."""
    if not SheetImport.objects.select_for_update().filter(pk=row.pk, job=job).exists():
        raise Superseded
