"""A car goes out on the road and comes back: entries of its log, and a reading of its odometer."""

from dataclasses import dataclass
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.care.actions.findings import log_finding
from collection.care.actions.look_over import look_over
from collection.care.draft import Draft
from collection.care.queries.care import open_tags, zone_of
from collection.models import Bay, CareKind, Evidence, Grade, Person, Vehicle
from collection.recommission.actions.evidence import save_evidence
from collection.round.queries.outings import ODOMETER, ON_THE_ROAD, last_odometer, out_since

TAGGED = "It carries a warning tag: see to that and take the tag off before it goes out."
MOST_LOGGED_KM = 2000.0  # of a run-up's distance; a longer tour stands in the odometer alone


@dataclass(frozen=True)
class Said:
    """Who says it, when, and the key under which it is stored once."""

    by: Person
    key: str
    now: datetime
    odometer_km: float
    words: str = ""


def is_logged(vehicle: Vehicle, key: str) -> bool:
    """Whether this form has been stored before."""
    return vehicle.entries.filter(idempotency_key=f"{key}-{CareKind.MOVED}").exists()


@transaction.atomic
def go_out(vehicle: Vehicle, said: Said) -> None:
    """It leaves its bay for the road; ValidationError where it is out, or a tag hangs on it."""
    if out_since(vehicle):
        raise ValidationError("It is out already: log its return first.")
    if open_tags([vehicle]).exists():
        raise ValidationError(TAGGED)
    _read(vehicle, said, "Goes out")
    details = {"wheels_only": False, "to_bay_label": ON_THE_ROAD}
    _log(vehicle, said, Draft(vehicle, CareKind.MOVED, None, details, note=f"Goes out. {said.words}".strip()))


@transaction.atomic
def come_back(
    vehicle: Vehicle, said: Said, *, bay: Bay, minutes: int, warm: bool, noticed: str, danger: bool
) -> None:
    """It is driven into a bay: the drive, the move, the odometer, and what was noticed."""
    if out_since(vehicle) is None:
        raise ValidationError("It is not out on the road.")
    before = last_odometer(vehicle)
    driven = said.odometer_km - (before.odometer_km or 0.0) if before else None
    if driven is not None and driven < 0:
        raise ValidationError({"odometer_km": "It showed more when it was last read: check the figure."})
    _read(vehicle, said, "Comes back")
    run: dict[str, float] = {"minutes": minutes, "driven": True, "reached_temperature": warm}
    if driven is not None and driven <= MOST_LOGGED_KM:
        run["distance_km"] = driven
    move = {"wheels_only": False, "to_bay": bay.pk}
    note = f"Comes back. {said.words}".strip()
    drive = Draft(vehicle, CareKind.RUN_UP, None, run, note=note)
    _log(vehicle, said, drive, Draft(vehicle, CareKind.MOVED, None, move))
    if noticed:
        log_finding(
            vehicle=vehicle,
            found="Something else",
            words=noticed,
            danger=danger,
            done_at=None,
            by=said.by,
            idempotency_key=f"{said.key}-noticed",
            now=said.now,
        )


def _read(vehicle: Vehicle, said: Said, note: str) -> None:
    row = Evidence(
        vehicle=vehicle,
        kind=ODOMETER,
        on=said.now.astimezone(zone_of(vehicle)).date(),
        odometer_km=said.odometer_km,
        grade=Grade.RECORD,
        note=note,
    )
    save_evidence(row=row, by=said.by, key=f"{said.key}-odometer", now=said.now)


def _log(vehicle: Vehicle, said: Said, *drafts: Draft) -> None:
    look_over(vehicle=vehicle, drafts=drafts, by=said.by, idempotency_key=said.key, now=said.now)
