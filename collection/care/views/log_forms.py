"""From a filled-in form to the care log: every page and the phone's queue write through here."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpRequest, QueryDict
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from collection.care.actions.care import Logged, log_entry
from collection.care.actions.findings import log_finding, see_to_finding
from collection.care.actions.finishing import Attempt, finish
from collection.care.forms.base import CareForm
from collection.care.forms.steps import FoundForm, SeenToForm
from collection.models import Clash, Entry, Person


@dataclass(frozen=True)
class Claim:
    """Who says that it was done, and when; ``done_at`` None is as the form says, else just now."""

    by: Person
    now: datetime
    done_at: datetime | None = None
    claim_skew_s: int = 0
    seen: datetime | None = None  # when the task was last seen open
    finding: Entry | None = None  # what is answered
    note: str = ""  # added to what the form says


def seen_of(request: HttpRequest) -> datetime | None:
    """When the page that sent a form saw its task open; None where it does not say."""
    try:
        seen = parse_datetime(request.POST.get("seen", ""))
    except ValueError:
        return None
    return seen if seen and timezone.is_aware(seen) else None


def log_form(form: CareForm, claim: Claim) -> Logged | Clash:
    """Log what a valid form says; ValidationError names the fields at fault, by the log's names."""
    cleaned = form.cleaned_data
    done_at = claim.done_at or cleaned.get("done_at")
    shared: dict[str, Any] = {
        "done_at": done_at,
        "by": claim.by,
        "now": claim.now,
        "idempotency_key": cleaned["key"],
        "claim_skew_s": claim.claim_skew_s,
    }
    log = partial(_log, form, claim, shared)
    if claim.seen is None:
        return log()
    attempt = Attempt(
        vehicle=form.car.vehicle,
        kind=form.kind,
        duty=form.car.duty,
        seen=claim.seen,
        by=claim.by,
        idempotency_key=cleaned["key"],
        said=_typed(form),
    )
    return finish(attempt, log, now=claim.now)


def log_together(forms: Sequence[CareForm], claim: Claim) -> list[Logged | Clash] | None:
    """Log several valid forms, all or none; what the log refuses is shown in its form."""
    logged = []
    try:
        with transaction.atomic():
            for form in forms:
                logged.append(log_form(form, claim))
    except ValidationError as error:
        forms[len(logged)].take_faults(error)
        return None
    return logged


def _typed(form: CareForm) -> dict[str, list[str]]:
    """What was typed into the form's own fields, as it came."""
    sent = form.data if isinstance(form.data, QueryDict) else QueryDict()
    return {name: sent.getlist(form.add_prefix(name)) for name in form.fields if name != "key"}


def _log(form: CareForm, claim: Claim, shared: dict[str, Any]) -> Logged:
    cleaned = form.cleaned_data
    if isinstance(form, FoundForm):
        return log_finding(
            vehicle=form.car.vehicle,
            found=cleaned["found"],
            words=cleaned["words"],
            danger=cleaned["danger"],
            attachments=cleaned.get("attachments", ()),
            **shared,
        )
    if isinstance(form, SeenToForm):
        if claim.finding is None:
            raise ValueError("a finding is answered by name")
        return see_to_finding(finding=claim.finding, words=cleaned["words"], **shared)
    return log_entry(
        vehicle=form.car.vehicle,
        kind=form.kind,
        details=form.details(),
        readings=form.readings(),
        note=" ".join(filter(None, [cleaned.get("note", ""), claim.note])),
        corrects=form.car.entry,
        attachments=cleaned.get("attachments", ()),
        **shared,
    )
