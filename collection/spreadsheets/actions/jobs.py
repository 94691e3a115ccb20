"""Checking, bringing in and taking back, as jobs: started once, seen at work, started again if they die.

A job holds a number of its own. Whoever starts another takes the table away from it: the number is asked for
with every sign of life and once more, under a lock, in each transaction that stores. So a job that was
thought dead stores nothing.

A table is checked outside any transaction, since that takes long, and stored in pieces, each whole or not at
all, so that nobody waits long with a write. A job that died goes on behind its last piece.
"""

import time
import uuid
from collections.abc import Callable
from datetime import datetime, timedelta
from functools import partial
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.host.jobs import leave
from collection.host.statistics import count_rows_anew
from collection.life.queries import local_day, worker_is_alive
from collection.life.refresh import bring_up_to_date
from collection.life.summaries import invalidate
from collection.models import Person, SheetImport, SheetState
from collection.spreadsheets.actions.batches import stated, statement_back, statement_in
from collection.spreadsheets.actions.bringing import Piece, read_table
from collection.spreadsheets.actions.faults import faults_sheet
from collection.spreadsheets.actions.findings import Beat, Findings, Pace, Superseded
from collection.spreadsheets.actions.incoming import mapping_of
from collection.spreadsheets.actions.undoing import ready_to_take_back
from collection.spreadsheets.sheets.cells import pack

JOB = "collection.tasks.work_on_sheet"
AT_ONCE = 300  # rows that are done while the page waits; more are left to the worker
CARS_AT_ONCE = 8  # policy: whose dates are computed in one transaction
DEAD_AFTER = timedelta(minutes=2)  # without a sign of life
BREATH_S = 0.12  # between two pieces: SQLite lets whoever waits look every tenth of a second
GOES_ON = (SheetState.IMPORTING, SheetState.UNDOING)
CUT_SHORT = "The work was cut short, and went on by itself."
FAILED = "Something went wrong that is no fault of the table. Try again."
Clock = Callable[[], datetime]
# what may be asked for: the states from which, and that in which it is at work
STEPS: dict[str, tuple[tuple[str, ...], str]] = {
    "check": ((SheetState.MAPPING, SheetState.CHECKED), SheetState.CHECKING),
    "import": ((SheetState.CHECKED,), SheetState.IMPORTING),
    "undo": ((SheetState.IMPORTED,), SheetState.UNDOING),
}


def start(  # one act with all that belongs to it; keywords only
    *, row: SheetImport, step: str, by: Person | None, clock: Clock, here: bool = False, problem: str = ""
) -> bool:
    """Start a step, once, in the name of whoever asks for it; True when the worker has it, never ``here``.

    False when it was done at once, or is at work already. A job that gave no sign of life for a while may
    be started again.
    """
    now, (before, at_work) = clock(), STEPS[step]
    job = uuid.uuid4()
    mine = SheetImport.objects.filter(pk=row.pk)
    facts = {"state": at_work, "job": job, "beat_at": now, "done": 0, "problem": problem, "by": by}
    begun = mine.filter(state__in=before).update(**facts)
    begun = begun or mine.filter(state=at_work, beat_at__lt=now - DEAD_AFTER).update(**facts)
    if not begun:
        return False
    if not here and row.rows > AT_ONCE and worker_is_alive(now):
        transaction.on_commit(partial(leave, JOB, str(row.pk), str(job)))
        return True
    run(row.pk, job, clock=clock)
    return False


def wake(clock: Clock) -> None:
    """Go on with tables whose job died; once, since what kills it twice is for a person to look at."""
    dead = SheetImport.objects.filter(beat_at__lt=clock() - DEAD_AFTER, problem="")
    for step, (_, at_work) in STEPS.items():
        for row in dead.filter(state=at_work).select_related("by").defer("data"):
            start(row=row, step=step, by=row.by, clock=clock, problem=CUT_SHORT)


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
        if row.state in GOES_ON and _has_stored(row):
            _pause(row, job, clock())
        else:
            _stop(row, job, FAILED, clock())
        raise


def _stop(row: SheetImport, job: uuid.UUID, problem: str, now: datetime) -> None:
    """Back to where it can be mended or tried again. What is stored in part is in, and can be taken back."""
    back = SheetState.IMPORTED if row.state == SheetState.UNDOING or _has_stored(row) else SheetState.MAPPING
    if back == SheetState.IMPORTED and row.state == SheetState.IMPORTING:
        problem = f"Only a part of the table is in. {problem}"
        _close(row, job, now, {"brought_in": statement_in(row)})
    SheetImport.objects.filter(pk=row.pk, job=job).update(state=back, problem=problem, job=None, beat_at=now)


def _pause(row: SheetImport, job: uuid.UUID, now: datetime) -> None:
    """After a failure that is no fault of the table: what is stored stays, and the step can go on at once."""
    mine = SheetImport.objects.filter(pk=row.pk, job=job)
    mine.update(problem=FAILED, beat_at=now - DEAD_AFTER)


def _has_stored(row: SheetImport) -> bool:
    """Whether a part of the table is in, or taken back, by now."""
    return bool(row.result.get("entries") or row.result.get("made"))


def _beat(row: SheetImport, job: uuid.UUID, clock: Clock) -> Beat:
    def beat(done: int) -> None:
        if not SheetImport.objects.filter(pk=row.pk, job=job).update(done=done, beat_at=clock()):
            raise Superseded

    return beat


def _check(row: SheetImport, job: uuid.UUID, clock: Clock) -> None:
    work = read_table(row, _beat(row, job, clock), clock())
    SheetImport.objects.filter(pk=row.pk, job=job).update(
        state=SheetState.CHECKED, report=work.found.report(), beat_at=clock(), problem=""
    )


def _import(row: SheetImport, job: uuid.UUID, clock: Clock) -> None:
    """Check once more against the record as it is now; then store piece by piece."""
    work = read_table(row, _beat(row, job, clock), clock())
    if work.found.counts["faults"]:
        _changed(row, job, work.found, clock())
        return
    row.result = work.before
    for piece in work.pieces:
        _store(row, job, clock, "result", piece, work.pace)
    facts = {
        "state": SheetState.IMPORTED,
        "result": row.result | {"counts": dict(work.found.counts)},
        "report": work.found.report(),
        "data": pack([faults_sheet(row)]) if mapping_of(row).aside else None,
        "done": row.rows,
        "brought_in": statement_in(row),
    }
    _close(row, job, clock(), facts)
    if row.rows > AT_ONCE:
        count_rows_anew()
    _refresh(row, clock)


def _store(  # a piece with all that it stands in
    row: SheetImport, job: uuid.UUID, clock: Clock, field: str, piece: Piece, pace: Pace
) -> None:
    """One piece in one short transaction, and a breath in which whoever waits with a write comes first."""
    began = time.perf_counter()
    with transaction.atomic():
        _hold(row, job)
        now = clock()
        facts = {field: piece(now), "beat_at": now, "done": min(row.rows, row.done + pace.size)}
        SheetImport.objects.filter(pk=row.pk).update(**facts)
    for name, value in facts.items():
        setattr(row, name, value)
    pace.took(time.perf_counter() - began)
    time.sleep(BREATH_S)


def _changed(row: SheetImport, job: uuid.UUID, found: Findings, now: datetime) -> None:
    """The rows no longer fit the record; what was stored of them before stays, and can be taken back."""
    if _has_stored(row):
        raise ValidationError(f"Something changed since the check: {found.faults[0]['text']}")
    SheetImport.objects.filter(pk=row.pk, job=job).update(
        state=SheetState.CHECKED,
        report=found.report(),
        beat_at=now,
        problem="Something changed since the check: nothing was stored. See what is to be corrected.",
    )


def _undo(row: SheetImport, job: uuid.UUID, clock: Clock) -> None:
    """Take everything back, piece by piece, latest first."""
    taking_back = ready_to_take_back(row, _beat(row, job, clock), now=clock())
    row.done = 0
    for piece in taking_back.pieces:
        _store(row, job, clock, "undone", piece, taking_back.pace)
    invalidate(taking_back.touched)
    facts = {
        "state": SheetState.UNDONE,
        "undone": taking_back.report(),
        "done": row.rows,
        "taken_back": statement_back(row, taking_back.touched),
    }
    _close(row, job, clock(), facts)
    _refresh(row, clock)


def _close(row: SheetImport, job: uuid.UUID, now: datetime, facts: dict[str, Any]) -> None:
    """The last act of a job: the batch is stated as one thing, in the organisation's chain."""
    with transaction.atomic():
        _hold(row, job)
        with stated(row, now):
            SheetImport.objects.filter(pk=row.pk).update(ended_at=now, problem="", **facts)


def _refresh(row: SheetImport, clock: Clock) -> None:
    """New dates of the cars, a few at a time: they have long logs now."""
    day = local_day(row.organisation, clock())
    bring_up_to_date(row.organisation_id, day, at_once=CARS_AT_ONCE, breath=partial(time.sleep, BREATH_S))


def _hold(row: SheetImport, job: uuid.UUID) -> None:
    """Nobody else may write for this table until the transaction ends."""
    if not SheetImport.objects.select_for_update().filter(pk=row.pk, job=job).exists():
        raise Superseded
