"""Taking back what a table brought, by new entries: the log only grows, and every chain goes on.

An entry is withdrawn by an entry. A car is on no list from then on; its row stays, since its record is in a
chain. What somebody has worked on since stays as it is, and is told.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from collection.care.actions.care import record
from collection.care.actions.chain import chain_entries
from collection.care.actions.record import Edit, recorded
from collection.care.checks import CORRECTED_ALREADY, check_entry
from collection.care.draft import Draft
from collection.care.queries.care import zone_of
from collection.care.rules import DETAILS
from collection.chain.canonical import digest
from collection.handover.queries.record import LATER_COLUMNS, LATER_PARTS, record_of
from collection.models import CareKind, Entry, Person, SheetImport, SheetKind, Vehicle
from collection.spreadsheets.actions.findings import Beat, Pace, pieces_of
from collection.spreadsheets.actions.log_store import BATCH, key_of
from collection.spreadsheets.sheets.log_fields import REFERENCES

MOST_TOLD = 100
LOOKED_AT_ONCE = 200  # entries between two signs of life
# kinds whose withdrawal depends on what else stands: one after the other, latest first
REFER = {kind for kind, details in DETAILS.items() if REFERENCES.keys() & details.keys()}
ONE_BY_ONE = REFER | {*REFERENCES.values()}
Told = dict[str, Any]


Kept = list[dict[str, str]]
Piece = Callable[[datetime], Told]


@dataclass
class TakingBack:
    """What is taken back, in pieces that each run in a transaction of the caller's and say what is done."""

    pieces: Iterator[Piece]
    touched: list[int]  # cars
    pace: Pace
    counts: Counter[str] = field(default_factory=Counter)
    kept: Kept = field(default_factory=list)

    def report(self) -> Told:
        """What was taken back, and what stays and why."""
        return dict(self.counts) | {"kept": self.kept[:MOST_TOLD], "kept_count": len(self.kept)}


def ready_to_take_back(row: SheetImport, beat: Beat, *, now: datetime) -> TakingBack:
    """Look at everything that came in and still stands; the looking is done before any transaction."""
    if row.by is None:
        raise ValidationError("Whoever sent this table is no longer here: withdraw its entries one by one.")
    return (_ready_cars if row.kind == SheetKind.CARS else _ready_entries)(row, row.by, beat, now)


# --- entries -----------------------------------------------------------------------------------


def _ready_entries(row: SheetImport, by: Person, beat: Beat, now: datetime) -> TakingBack:
    brought = (
        Entry.objects.filter(vehicle__in=row.result["cars"], idempotency_key__startswith=key_of(row.pk))
        .select_related("vehicle__bay__building__site", "corrected_by")
        .order_by("-recorded_at")
    )
    pace = Pace(first=20, most=500)
    back = TakingBack(iter(()), list(row.result["cars"]), pace, Counter(withdrawn=0))
    bound, simple = _sorted_out(brought, row, back, beat, now)

    def withdraw_bound(some: Sequence[Entry], at: datetime) -> Told:
        back.counts["withdrawn"] += sum(_withdraw(entry, row, by, at, back.kept) for entry in some)
        return back.report()

    def withdraw_simple(some: Sequence[Entry], at: datetime) -> Told:
        _withdraw_all(some, row, by, at)
        back.counts["withdrawn"] += len(some)
        return back.report()

    def pieces() -> Iterator[Piece]:
        for some in pieces_of(bound, pace):
            yield partial(withdraw_bound, some)
        simple.sort(
            key=lambda entry: entry.vehicle_id
        )  # few cars to a piece: each has its chain to be seen to
        for some in pieces_of(simple, pace):
            yield partial(withdraw_simple, some)

    back.pieces = pieces()
    return back


def _sorted_out(
    brought: Iterable[Entry], row: SheetImport, back: TakingBack, beat: Beat, now: datetime
) -> tuple[list[Entry], list[Entry]]:
    """Those that depend on others, and those that do not; what stays is told, what is withdrawn counted."""
    bound, simple = [], []
    of_cars: dict[int, str] = {}  # such a withdrawal depends on the car alone
    for done, entry in enumerate(brought, 1):
        if done % LOOKED_AT_ONCE == 0:
            beat(0)
        if hasattr(entry, "corrected_by"):
            if entry.corrected_by.idempotency_key == _undo_key(entry):
                back.counts["withdrawn"] += 1
            else:
                back.kept.append(_kept(entry, CORRECTED_ALREADY))
            continue
        if _is_bound(entry):
            bound.append(entry)
            continue
        if entry.vehicle_id not in of_cars:
            of_cars[entry.vehicle_id] = _fault(_draft(entry, row), now)
        if fault := of_cars[entry.vehicle_id]:
            back.kept.append(_kept(entry, fault))
        else:
            simple.append(entry)
    return bound, simple


def _is_bound(entry: Entry) -> bool:
    """Whether other entries depend on it; most notes neither ask for anything nor answer it."""
    if entry.kind == CareKind.NOTE:
        return bool({"found", "answers"} & entry.details.keys())
    return entry.kind in ONE_BY_ONE


def _undo_key(entry: Entry) -> str:
    return f"undo-{entry.pk.hex}"


def _fault(draft: Draft, now: datetime) -> str:
    try:
        check_entry(draft, now=now)
    except ValidationError as fault:
        return " ".join(fault.messages)
    return ""


def _kept(entry: Entry, why: str) -> dict[str, str]:
    kind = entry.get_kind_display().lower()
    return {"what": f"{entry.vehicle}: {kind} of {entry.done_at:%d %b %Y}", "why": why}


def _draft(entry: Entry, row: SheetImport) -> Draft:
    note = f"Taken back with the table {row.name}."
    return Draft(entry.vehicle, CareKind.WITHDRAWN, entry.done_at, {}, (), note, entry)


def _withdraw(entry: Entry, row: SheetImport, by: Person, now: datetime, kept: Kept) -> int:
    try:
        record(_draft(entry, row), by=by, idempotency_key=_undo_key(entry), now=now)
    except ValidationError as fault:
        kept.append(_kept(entry, " ".join(fault.messages)))
        return 0
    return 1


def _withdraw_all(entries: Sequence[Entry], row: SheetImport, by: Person, now: datetime) -> None:
    """Those that depend on nothing else, together. No car is moved by it."""
    made = [
        Entry(
            vehicle=entry.vehicle,
            kind=CareKind.WITHDRAWN,
            done_at=entry.done_at,
            by=by,
            corrects=entry,
            note=_draft(entry, row).note,
            recorded_at=now + nth * now.resolution,
            idempotency_key=_undo_key(entry),
        )
        for nth, entry in enumerate(entries)
    ]
    try:
        with transaction.atomic():
            Entry.objects.bulk_create(made, batch_size=BATCH)
    except IntegrityError as error:
        raise ValidationError(
            "Somebody corrected one of the entries just now: nothing was taken back. Try again."
        ) from error
    chain_entries(made)


# --- cars --------------------------------------------------------------------------------------


def record_print(vehicle: int) -> str:
    """A digest of what stands on the record of a car: another one means that somebody has edited it."""
    car = Vehicle.objects.get(pk=vehicle)
    ours = {"owner": car.owner_id, "bay": car.bay_id, "left_on": str(car.left_on), "notes": car.notes}
    record = record_of(car)
    # what versions before this one did not know of counts once it is written, so that their tables fit still
    car_now = {name: value for name, value in record["car"].items() if value or name not in LATER_COLUMNS}
    record["car"] = {name: value for name, value in car_now.items() if name != "body"}
    record = {name: value for name, value in record.items() if value or name not in LATER_PARTS}
    return digest(record | ours)


def _ready_cars(row: SheetImport, by: Person, _beat: Beat, _now: datetime) -> TakingBack:
    made: dict[str, str] = row.result["made"]
    pks = sorted(map(int, made))
    back = TakingBack(iter(()), pks, Pace(first=5, most=50), Counter(taken_off=0))

    def take_off(some: Sequence[int], at: datetime) -> Told:
        for car in Vehicle.objects.select_for_update().filter(pk__in=some).order_by("pk"):
            if car.taken_back_on:
                back.counts["taken_off"] += 1
            elif why := _worked_on(car, made[str(car.pk)], row):
                back.kept.append({"what": str(car), "why": why})
            else:
                _take_off(car, by, at)
                back.counts["taken_off"] += 1
        return back.report()

    back.pieces = (partial(take_off, some) for some in pieces_of(pks, back.pace))
    return back


def _worked_on(car: Vehicle, mark: str, row: SheetImport) -> str:
    """Why a car stays; empty when nothing has been recorded of it since."""
    if car.organisation_id != row.organisation_id:
        return "it was handed over"
    standing = car.entries.filter(corrected_by__isnull=True).exclude(kind=CareKind.WITHDRAWN)
    if standing.exists():
        return "care has been logged for it: withdraw those entries first, or set the day it left on its page"
    if car.evidence.exists():
        return "finds have been written down for it"
    return "" if record_print(car.pk) == mark else "its record has been edited since"


def _take_off(car: Vehicle, by: Person, now: datetime) -> None:
    """The car is on no list from now on; its chain says why."""
    with recorded(car, Edit(by, now)):
        today = now.astimezone(zone_of(car)).date()
        car.left_on, car.bay, car.taken_back_on = car.left_on or today, None, today
        car.save(update_fields=["left_on", "bay", "taken_back_on"])
