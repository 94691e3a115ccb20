"""Taking back what a table brought, by new entries: the log only grows, and every chain goes on.

An entry is withdrawn by an entry. A car is marked as left today, with a note that it was entered by mistake;
its row stays, since something is on its chain from then on. What somebody has worked on since stays as it
is, and is told.
"""

from collections.abc import Callable, Sequence
from datetime import datetime
from functools import partial
from typing import Any
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from collection.care.actions.care import record
from collection.care.actions.chain import chain_entries
from collection.care.actions.record import Edit, recorded
from collection.care.checks import CORRECTED_ALREADY, check_entry
from collection.care.draft import Draft
from collection.care.rules import DETAILS
from collection.chain.canonical import digest
from collection.handover.queries.record import record_of
from collection.models import CareKind, Entry, Person, SheetImport, SheetKind, Vehicle
from collection.permissions import zone_of_organisation
from collection.spreadsheets.actions.log_store import BATCH, key_of
from collection.spreadsheets.sheets.log_fields import REFERENCES

MOST_TOLD = 100
# kinds whose withdrawal depends on what else stands: one after the other, latest first
REFER = {kind for kind, details in DETAILS.items() if REFERENCES.keys() & details.keys()}
ONE_BY_ONE = REFER | {*REFERENCES.values()}
Told = dict[str, Any]


Kept = list[dict[str, str]]
Store = Callable[[datetime], tuple[Told, list[int]]]


def ready_to_take_back(row: SheetImport, *, now: datetime) -> Store:
    """Look at everything that came in; what is returned takes it back, in the caller's transaction.

    The looking is done before, so that others need not wait with their writing. What it gives: what stays
    and why, and the cars touched.
    """
    if row.by is None:
        raise ValidationError("Whoever sent this table is no longer here: withdraw its entries one by one.")
    return (_ready_cars if row.kind == SheetKind.CARS else _ready_entries)(row, row.by, now)


# --- entries -----------------------------------------------------------------------------------


def _ready_entries(row: SheetImport, by: Person, now: datetime) -> Store:
    brought = (
        Entry.objects.filter(vehicle__in=row.result["cars"], idempotency_key__startswith=key_of(row.pk))
        .select_related("vehicle__bay__building__site", "corrected_by")
        .order_by("-recorded_at")
    )
    kept: Kept = []
    simple: list[Entry] = []
    bound: list[Entry] = []
    for entry in brought:
        if hasattr(entry, "corrected_by"):
            kept.append(_kept(entry, CORRECTED_ALREADY))
        elif entry.kind in ONE_BY_ONE:
            bound.append(entry)
        elif fault := _fault(_draft(entry, row), now):
            kept.append(_kept(entry, fault))
        else:
            simple.append(entry)

    def store(at: datetime) -> tuple[Told, list[int]]:
        withdrawn = sum(_withdraw(entry, row, by, at, kept) for entry in bound)
        _withdraw_all(simple, row, by, at)
        report = {"withdrawn": withdrawn + len(simple), "kept": kept[:MOST_TOLD], "kept_count": len(kept)}
        return report, list(row.result["cars"])

    return store


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
        record(_draft(entry, row), by=by, idempotency_key=f"undo-{entry.pk.hex}", now=now)
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
            idempotency_key=f"undo-{entry.pk.hex}",
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
    chain_entries(list({entry.vehicle_id: entry.vehicle for entry in made}.values()))


# --- cars --------------------------------------------------------------------------------------


def record_print(vehicle: int) -> str:
    """A digest of what stands on the record of a car: another one means that somebody has edited it."""
    car = Vehicle.objects.get(pk=vehicle)
    ours = {"owner": car.owner_id, "bay": car.bay_id, "left_on": str(car.left_on), "notes": car.notes}
    return digest(record_of(car) | ours)


def _ready_cars(row: SheetImport, by: Person, _now: datetime) -> Store:
    return partial(_cars, row, by)


def _cars(row: SheetImport, by: Person, now: datetime) -> tuple[Told, list[int]]:
    made: dict[str, str] = row.result["made"]
    cars = Vehicle.objects.select_for_update().filter(pk__in=[int(pk) for pk in made]).order_by("pk")
    kept, gone = [], []
    for car in cars:
        why = _worked_on(car, made[str(car.pk)], row)
        if why:
            kept.append({"what": str(car), "why": why})
            continue
        _take_off(car, row, by, now)
        gone.append(car.pk)
    report = {"taken_off": len(gone), "kept": kept[:MOST_TOLD], "kept_count": len(kept)}
    return report, gone


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


def _take_off(car: Vehicle, row: SheetImport, by: Person, now: datetime) -> None:
    zone = car.bay.building.site.time_zone if car.bay else None
    today = now.astimezone(ZoneInfo(zone) if zone else zone_of_organisation(row.organisation)).date()
    note = Draft(
        car, CareKind.NOTE, now, {}, (), f"Entered by mistake: taken back with the table {row.name}."
    )
    record(note, by=by, idempotency_key=f"undo-{row.pk.hex}", now=now)
    with recorded(car, Edit(by, now)):
        car.left_on = car.left_on or today
        car.bay = None
        car.save(update_fields=["left_on", "bay"])
