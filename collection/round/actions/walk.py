"""A row of bays logged at once: each car stands or falls by itself, and is stored once."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, tzinfo
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.care.actions.care import Logged, log_entry, record
from collection.care.actions.findings import log_finding
from collection.care.actions.finishing import Attempt, finish
from collection.care.attachments import Attached
from collection.care.draft import Draft, Measured
from collection.care.queries.care import zone_of
from collection.life.refresh import refresh_vehicles
from collection.models import CareKind, Clash, Person, Vehicle


@dataclass(frozen=True)
class Work:
    """What is said of all cars at once: its kind of entry, its duty, and how a page says it."""

    code: str
    care: str
    duty: str
    title: str
    all_done: str
    left_out: str
    asked_only: bool = False  # at the cars of a building that ask for it, not at every car of a row


WORKS = {
    work.code: work
    for work in (
        Work("inspect", CareKind.INSPECTED, "inspection", "Walk", "All well", "Not looked at, because"),
        Work(
            "charge",
            CareKind.CHARGE,
            "charge",
            "Charge",
            "Charged in full",
            "Not charged, because",
            asked_only=True,
        ),
    )
}


@dataclass(frozen=True)
class Line:
    """One car of the row."""

    car: Vehicle
    without: str = ""  # why the work was not done at this one
    found: tuple[str, ...] = ()
    words: str = ""
    danger: bool = False
    readings: tuple[Measured, ...] = ()
    photographs: tuple[Attached, ...] = ()


@dataclass(frozen=True)
class Walk:
    """Who walked, when, under which key; ``seen``: when the row was last seen with the work open."""

    work: Work
    by: Person
    key: str
    now: datetime
    done_at: datetime
    claim_skew_s: int = 0
    seen: datetime | None = None

    def shared(self, vehicle: Vehicle) -> dict[str, Any]:
        """What all entries of the walk at one car have in common."""
        return {
            "vehicle": vehicle,
            "by": self.by,
            "now": self.now,
            "done_at": self.done_at,
            "claim_skew_s": self.claim_skew_s,
        }

    def key_at(self, vehicle: Vehicle, what: str = "") -> str:
        """The key of one entry: the same whenever the walk is sent."""
        return f"{self.key}-{vehicle.pk}{what}"


@dataclass
class Walked:
    """What became of it."""

    logged: list[Vehicle] = field(default_factory=list)
    left_out: list[Vehicle] = field(default_factory=list)
    clashes: list[Clash] = field(default_factory=list)
    refused: list[tuple[Vehicle, str]] = field(default_factory=list)


def log_walk(walk: Walk, lines: Iterable[Line]) -> Walked:
    """Log each car of the row; what one of them is refused for holds up no other."""
    walked = Walked()
    for line in lines:
        try:
            with transaction.atomic():
                _exceptions(walk, line)
                done = _not_done(walk, line) if line.without else _done(walk, line)
        except ValidationError as error:
            walked.refused.append((line.car, " ".join(error.messages)))
            continue
        if isinstance(done, Clash):
            walked.clashes.append(done)
        else:
            (walked.left_out if line.without else walked.logged).append(line.car)
    by_zone: defaultdict[tzinfo, list[int]] = defaultdict(list)
    for car in walked.logged:
        by_zone[zone_of(car)].append(car.pk)
    for zone, pks in by_zone.items():
        refresh_vehicles(pks, today=walk.now.astimezone(zone).date())
    return walked


def _exceptions(walk: Walk, line: Line) -> None:
    """Findings wait to be seen to, a danger puts its tag on, a reading stands by itself."""
    files = line.photographs
    for number, found in enumerate(line.found):
        log_finding(
            found=found,
            words=line.words,
            danger=line.danger,
            idempotency_key=walk.key_at(line.car, f"-{number}"),
            attachments=files if number == 0 else (),
            **walk.shared(line.car),
        )
    if line.readings and (line.without or walk.work.care != CareKind.CHARGE):
        log_entry(
            kind=CareKind.BATTERY_READING,
            readings=line.readings,
            idempotency_key=walk.key_at(line.car, "-v"),
            **walk.shared(line.car),
        )


def _done(walk: Walk, line: Line) -> Logged | Clash:
    charged = walk.work.care == CareKind.CHARGE
    found = {"ok": False, "found": list(line.found)} if line.found else {"ok": True}
    draft = Draft(
        line.car,
        walk.work.care,
        walk.done_at,
        {"completed": True} if charged else found,
        line.readings if charged else (),
        claim_skew_s=walk.claim_skew_s,
        attachments=() if line.found else line.photographs,
    )
    key = walk.key_at(line.car)

    def log() -> Logged:
        return record(draft, by=walk.by, idempotency_key=key, now=walk.now)

    if walk.seen is None:
        return log()
    attempt = Attempt(
        vehicle=line.car,
        kind=walk.work.care,
        duty=walk.work.duty,
        seen=walk.seen,
        by=walk.by,
        idempotency_key=key,
        said={"row": walk.work.code},
    )
    return finish(attempt, log, now=walk.now)


def _not_done(walk: Walk, line: Line) -> Logged:
    return log_entry(
        kind=CareKind.NOT_DONE,
        details={"duty": walk.work.duty, "reason": line.without},
        idempotency_key=walk.key_at(line.car, "-not"),
        attachments=() if line.found else line.photographs,
        **walk.shared(line.car),
    )
