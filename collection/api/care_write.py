"""Writing the care log: by the same rules as the pages, once a key."""

from collections.abc import Callable
from typing import Annotated, Any, Literal
from uuid import UUID

from django.http import JsonResponse
from django.shortcuts import get_object_or_404
from ninja import Body, Field, Header
from pydantic import StringConstraints

from collection.api.actions.writes import Answer, once
from collection.api.actions.writes import Sent as SentOnce
from collection.api.care import EntryTold, entry_of, router
from collection.api.door import ApiRequest, operation
from collection.api.entries_sent import AnyEntry, DoneAt, Note, details_of, readings_of
from collection.api.shapes import Id, Sent, as_json
from collection.care.actions.care import Logged, log_entry
from collection.care.actions.findings import log_finding, see_to_finding
from collection.care.findings import BY_LABEL
from collection.models import CareKind, Entry, Vehicle
from collection.permissions import WRITE_LOG

Key = Annotated[
    str,
    StringConstraints(pattern=r"^[A-Za-z0-9_.:-]{8,100}$"),
    Header(
        alias="Idempotency-Key",
        description="A word of your own for this one write, such as a UUID. Sent again with the same "
        "body, it is not written twice and answered the same; with another body it is refused.",
    ),
]
CREATED = {201: EntryTold}


class FindingSent(Sent):
    """Something found at the car, to be seen to."""

    found: Literal[tuple(BY_LABEL)] = Field(examples=["Flat tyre"])  # type: ignore[valid-type]
    words: Annotated[str, StringConstraints(strict=True, max_length=200, pattern=r"^[^\x00]*$")] = ""
    danger: bool = Field(
        default=False, description="Hang a danger tag; some findings hang one of themselves."
    )
    done_at: DoneAt = None


class AnswerSent(Sent):
    """How it was seen to."""

    words: Note = ""
    done_at: DoneAt = None


class WithdrawalSent(Sent):
    """Why the entry never happened."""

    note: Note = ""


def respond_once(request: ApiRequest, key: str, do: Callable[[], tuple[int, Answer]]) -> JsonResponse:
    """Do it, or give what the same key gave before; the answer is kept as it was given."""
    sent = SentOnce(request.token, key, request.path, request.body)
    status, answer = once(sent, do, now=request.now)
    return JsonResponse(answer, status=status)


def _once(request: ApiRequest, key: str, act: Callable[[str], Logged]) -> JsonResponse:
    """The same for an entry of the log."""
    sent = SentOnce(request.token, key, request.path, request.body)

    def write() -> tuple[int, dict[str, Any]]:
        logged = act(sent.entry_key)
        entry = entry_of(request, logged.entry.vehicle_id, logged.entry.pk)
        written = EntryTold.model_validate(entry, context={"request": request})
        return 201, as_json(written)

    return respond_once(request, key, write)


def _log(request: ApiRequest, car: Vehicle, sent: Any, corrects: Entry | None = None) -> Any:
    def act(key: str) -> Logged:
        return log_entry(
            vehicle=car,
            kind=sent.kind,
            done_at=sent.done_at,
            by=request.access.person,
            idempotency_key=key,
            now=request.now,
            details=details_of(sent),
            readings=readings_of(sent),
            note=sent.note,
            corrects=corrects,
        )

    return act


@operation(
    router, "POST", "/cars/{car_id}/entries", scope=WRITE_LOG, response=CREATED, summary="Log an entry"
)
def write_entry(
    request: ApiRequest, car_id: Id, entry: Annotated[AnyEntry, Body()], idempotency_key: Key
) -> Any:
    """One thing done, found or measured at the car, in SI units. The car's dates move at once."""
    return _once(request, idempotency_key, _log(request, request.access.vehicle(car_id), entry))


@operation(
    router,
    "POST",
    "/cars/{car_id}/entries/{entry_id}/correction",
    scope=WRITE_LOG,
    response=CREATED,
    summary="Correct an entry",
)
def correct_entry(
    request: ApiRequest, car_id: Id, entry_id: UUID, entry: Annotated[AnyEntry, Body()], idempotency_key: Key
) -> Any:
    """A new entry of the same kind takes the place of an old one, which stays readable."""
    old = entry_of(request, car_id, entry_id)
    return _once(request, idempotency_key, _log(request, request.access.vehicle(car_id), entry, old))


@operation(
    router,
    "POST",
    "/cars/{car_id}/entries/{entry_id}/withdrawal",
    scope=WRITE_LOG,
    response=CREATED,
    summary="Withdraw an entry",
)
def withdraw_entry(
    request: ApiRequest, car_id: Id, entry_id: UUID, withdrawal: WithdrawalSent, idempotency_key: Key
) -> Any:
    """Say that it never happened; it stays readable."""
    car, old = request.access.vehicle(car_id), entry_of(request, car_id, entry_id)

    def act(key: str) -> Logged:
        return log_entry(
            vehicle=car,
            kind=CareKind.WITHDRAWN,
            done_at=None,
            by=request.access.person,
            idempotency_key=key,
            now=request.now,
            note=withdrawal.note,
            corrects=old,
        )

    return _once(request, idempotency_key, act)


@operation(
    router, "POST", "/cars/{car_id}/findings", scope=WRITE_LOG, response=CREATED, summary="Add a finding"
)
def write_finding(request: ApiRequest, car_id: Id, finding: FindingSent, idempotency_key: Key) -> Any:
    """Something to be seen to; a danger hangs a tag that forbids starting and moving."""
    car = request.access.vehicle(car_id)

    def act(key: str) -> Logged:
        return log_finding(
            vehicle=car,
            found=finding.found,
            words=finding.words,
            danger=finding.danger,
            done_at=finding.done_at,
            by=request.access.person,
            idempotency_key=key,
            now=request.now,
        )

    return _once(request, idempotency_key, act)


@operation(
    router,
    "POST",
    "/cars/{car_id}/findings/{entry_id}/answer",
    scope=WRITE_LOG,
    response=CREATED,
    summary="See to a finding",
)
def answer_finding(
    request: ApiRequest, car_id: Id, entry_id: UUID, answer: AnswerSent, idempotency_key: Key
) -> Any:
    """It was seen to. A tag that it hung stays until it is taken off."""
    entries = request.access.entries().filter(vehicle=car_id, kind=CareKind.NOTE, details__has_key="found")
    finding = get_object_or_404(entries.select_related("vehicle"), pk=entry_id)

    def act(key: str) -> Logged:
        return see_to_finding(
            finding=finding,
            words=answer.words,
            done_at=answer.done_at,
            by=request.access.person,
            idempotency_key=key,
            now=request.now,
        )

    return _once(request, idempotency_key, act)
