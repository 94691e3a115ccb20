"""A battery's logged volts become entries of the care log, in one step; withdrawn, in one step too."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.care.actions.care import record
from collection.care.draft import Draft, Measured
from collection.care.queries.care import zone_of
from collection.life.refresh import refresh_vehicles
from collection.loggers.actions.files import drop_raw
from collection.loggers.actions.measured_air import NOT_READ, UNDECIDED
from collection.loggers.queries import KEY, entries_of
from collection.models import CareKind, Entry, LoggerFile, LoggerState, Person, Quantity, Vehicle
from collection.models.care import effective

READINGS, CHARGES, FALLS = "readings", "charges", "falls"
PARTS = (READINGS, CHARGES, FALLS)
BESIDE = timedelta(days=1)  # policy: a charge that somebody logged that near is the same one
SLACK = timedelta(minutes=1)


@transaction.atomic
def accept_volts(*, file: LoggerFile, parts: Sequence[str], by: Person, now: datetime) -> int:
    """Log what the file shows, as far as ``parts`` say; returns how many entries that made.

    All or none; ValidationError names what stands in the way.
    """
    locked = LoggerFile.objects.select_for_update().get(pk=file.pk)
    if locked.state != LoggerState.READ:
        raise ValidationError(NOT_READ)
    if locked.layout.get("undecided"):
        raise ValidationError(UNDECIDED)
    drafts = drafts_of(locked, parts, now)
    if not drafts:
        raise ValidationError("Tick something that the file shows: nothing is left to be logged.")
    for number, draft in enumerate(drafts):
        record(draft, by=by, idempotency_key=f"{KEY.format(locked.pk)}{number}", now=now)
    raw = locked.raw
    locked.state, locked.accepted_at, locked.raw = LoggerState.ACCEPTED, now, ""
    locked.save()
    vehicle = drafts[0].vehicle
    refresh_vehicles([vehicle.pk], today=now.astimezone(zone_of(vehicle)).date())
    transaction.on_commit(lambda: drop_raw(LoggerFile(raw=raw)))
    return len(drafts)


def drafts_of(file: LoggerFile, parts: Sequence[str], now: datetime) -> list[Draft]:
    """The entries that the file gives, oldest first; charges that somebody logged already are left out."""
    assert file.vehicle is not None  # noqa: S101  # a file of volts stands at a car
    source = {"logger": file.instrument or file.name[:60], "file_sha256": file.digest}
    drafts = proposed(file.vehicle, file.understood["proposals"], source, parts)
    covered = _covered(file)
    fresh = [d for d in drafts if d.done_at and d.done_at <= now and not _within(d.done_at, covered)]
    return sorted(fresh, key=lambda d: d.done_at or now)


def proposed(
    vehicle: Vehicle, proposals: dict[str, Any], source: dict[str, str], parts: Sequence[str] = PARTS
) -> list[Draft]:
    """What volts show of a car's battery, as entries; charges that somebody logged already are left out."""
    drafts: list[Draft] = []
    if READINGS in parts:
        drafts += [_reading(vehicle, row, source) for row in proposals["readings"]]
    if CHARGES in parts:
        by_hand = _logged_charges(vehicle)
        for row in proposals["charges"]:
            if not logged_already(row, by_hand):
                drafts += _charge(vehicle, row, source)
    if FALLS in parts:
        drafts += [_fall(vehicle, row, source) for row in proposals["falls"]]
    return drafts


def _covered(file: LoggerFile) -> list[tuple[datetime, datetime]]:
    """From when to when the car's accepted files speak: a file that overlaps one doubles nothing."""
    files = LoggerFile.objects.filter(vehicle=file.vehicle_id, state=LoggerState.ACCEPTED)
    return [(_moment(f.understood["first"]), _moment(f.understood["last"])) for f in files]


def _within(moment: datetime, spans: Sequence[tuple[datetime, datetime]]) -> bool:
    return any(begin <= moment <= end + SLACK for begin, end in spans)


def _reading(vehicle: Vehicle, row: dict[str, Any], source: dict[str, str]) -> Draft:
    measured = Measured(
        Quantity.RESTED_VOLTS, row["volts"], temperature_c=row["temp_c"], rest_hours=row["rest_h"]
    )
    return Draft(vehicle, CareKind.BATTERY_READING, _moment(row["at"]), source, (measured,))


def _charge(vehicle: Vehicle, row: dict[str, Any], source: dict[str, str]) -> Iterator[Draft]:
    begin, end = _moment(row["begin"]), _moment(row["end"])
    if row["maintained"]:
        yield Draft(vehicle, CareKind.MAINTAINER, begin, {"state": "on"} | source)
        if not row["running"]:
            yield Draft(vehicle, CareKind.MAINTAINER, end, {"state": "off"} | source)
        return
    details = {"completed": row["full"], "hours": min(row["hours"], 500.0)}
    note = "Volts as on charge: a charger, or the engine's own." if not row["full"] else ""
    yield Draft(vehicle, CareKind.CHARGE, end, details | source, note=note)


def _fall(vehicle: Vehicle, row: dict[str, Any], source: dict[str, str]) -> Draft:
    zone = zone_of(vehicle)
    begin, end = (_moment(row[key]).astimezone(zone) for key in ("from", "to"))
    note = (
        f"The logger shows {row['volts']:.2f} V less between {begin:%d %b %Y %H:%M} and "
        f"{end:%d %b %Y %H:%M}: more than a standing battery loses. Something drew on it; look for what."
    )
    return Draft(vehicle, CareKind.NOTE, _moment(row["to"]) + SLACK, source, note=note)


def _moment(text: str) -> datetime:
    return datetime.fromisoformat(text)


def _logged_charges(vehicle: Vehicle) -> list[datetime]:
    kinds = (CareKind.CHARGE, CareKind.MAINTAINER)
    entries = effective(Entry.objects.filter(vehicle=vehicle, kind__in=kinds))
    return list(entries.exclude(details__has_key="file_sha256").values_list("done_at", flat=True))


def logged_already(row: dict[str, Any], by_hand: Sequence[datetime]) -> bool:
    """Whether somebody logged a charge within this one or beside it."""
    begin, end = _moment(row["begin"]) - BESIDE, _moment(row["end"]) + BESIDE
    return any(begin <= done <= end for done in by_hand)


@transaction.atomic
def withdraw_volts(*, file: LoggerFile, by: Person, now: datetime) -> int:
    """Withdraw every entry that the file gave and that still stands, and forget the file; how many."""
    entries = list(entries_of(file).select_related("vehicle"))
    for entry in entries:
        draft = Draft(
            entry.vehicle,
            CareKind.WITHDRAWN,
            None,
            note=f"The logger's file {file.name} is withdrawn.",
            corrects=entry,
        )
        record(draft, by=by, idempotency_key=f"{KEY.format(file.pk)}gone-{entry.pk.hex}", now=now)
    vehicle = file.vehicle
    file.delete()
    if vehicle is not None:
        refresh_vehicles([vehicle.pk], today=now.astimezone(zone_of(vehicle)).date())
    return len(entries)
