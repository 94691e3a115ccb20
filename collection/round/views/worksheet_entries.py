"""Takes what the phone logged without a signal: each entry stands or falls by itself, and once."""

import json
import logging
from datetime import datetime, timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpResponse, JsonResponse
from django.utils import timezone
from django.utils.datastructures import MultiValueDict
from django.utils.dateparse import parse_datetime
from django.views.decorators.http import require_POST

from collection.care.actions.care import Logged, log_entry
from collection.care.checks import CLOCK_GRACE
from collection.care.clash_words import describe_clash
from collection.care.forms.base import AtTheCar, CareForm
from collection.care.forms.steps import STEP_FORMS, at_the_step, with_photographs
from collection.care.queries.care import free_bays, last_values, open_tags, zone_of
from collection.care.queries.finishing import stored_under
from collection.care.views.log_forms import Claim, log_form
from collection.host.outage import outage_of
from collection.models import CareKind, Entry, Vehicle
from collection.permissions import WORK, AccessRequest, needs
from collection.round.actions.plans import choose
from collection.round.actions.shifts import leave_note
from collection.round.forms.sent import PASS_ON, ROW, SHIFT_NOTE, PassOnForm, SentForm
from collection.round.queries.staff import colleagues
from collection.round.views.walk import Claim as RowClaim
from collection.round.views.walk import faults_of, take_row, told
from collection.web.units import edge

MOST = 50  # entries a request; the phone sends the rest after
ANOTHER = "Somebody else made these entries, or for another organisation: they wait for that person."
KEY_OF_ANOTHER = "This key stands for another entry: log the work afresh."
UNKNOWN_SITE = "This site is not here any more, or not yours to work at: tell a manager."
UNKNOWN_CAR = "This car is not here any more, or not yours to work on: tell a manager what was done."
NO_PICTURES = "This work takes no photographs from the phone: log it on the car's page, with a signal."
FAILED = "The site failed on this entry. It stays on this phone and is sent again: tell a manager."

Outcome = dict[str, Any]
log = logging.getLogger(__name__)


@require_POST
@needs(WORK)
def worksheet_entries(request: AccessRequest) -> HttpResponse:
    """JSON in: sent_at by the phone's clock, person, organisation, entries. JSON out: an outcome for each.

    With photographs the JSON is the field ``sent`` of a form, and a file is named ``key/field`` of its entry.
    """
    now = timezone.now()
    try:
        with_files = request.content_type == "multipart/form-data"
        sent = json.loads(request.POST["sent"] if with_files else request.body)
        sent_at = parse_datetime(sent["sent_at"])
        entries = sent["entries"]
    except (ValueError, KeyError, TypeError, RecursionError):
        return _refused("Send JSON with sent_at, person, organisation and entries.")
    if not isinstance(entries, list) or len(entries) > MOST:
        return _refused(f"Send a list of at most {MOST} entries.")
    if sent_at is None or timezone.is_naive(sent_at):
        return _refused("sent_at: give the phone's time with its zone.")
    access = request.access
    if (sent.get("person"), sent.get("organisation")) != (access.person.pk, access.organisation.pk):
        return JsonResponse({"says": ANOTHER}, status=409)
    ahead = (sent_at - now).total_seconds()
    return JsonResponse({"now": now, "outcomes": [_take(request, entry, ahead, now) for entry in entries]})


def _refused(says: str) -> HttpResponse:
    return JsonResponse({"says": says}, status=400)


def _take(request: AccessRequest, sent: Any, ahead_s: float, now: datetime) -> Outcome:
    """Log one entry; what happened, in words for the phone."""
    envelope = SentForm(sent)
    key = sent.get("key") if isinstance(sent, dict) else None
    if not envelope.is_valid():
        return {
            "key": key,
            "state": "refused",
            "says": _words(envelope.faults()),
            "faults": envelope.faults(),
        }
    values = envelope.cleaned_data
    try:
        return {"key": key} | _take_kind(request, values, ahead_s, now)
    except Exception as error:  # one bad record must not hold up the others in the queue
        if outage_of(error):
            raise  # nothing can be stored: the phone keeps all of them and sends them again
        log.exception("entry %s of car %s cannot be taken", key, values["car"])
        return {"key": key, "state": "failed", "says": FAILED}


def _take_kind(request: AccessRequest, values: dict[str, Any], ahead_s: float, now: datetime) -> Outcome:
    if values["kind"] == ROW:
        return _row(request, values, ahead_s, now)
    if values["kind"] == SHIFT_NOTE:
        return _shift_note(request, values, ahead_s, now)
    vehicle = _vehicle(request, values["car"])
    if vehicle is None:
        return {"state": "refused", "says": UNKNOWN_CAR}
    with timezone.override(zone_of(vehicle)):
        if values["kind"] == PASS_ON:
            return _pass_on(request, vehicle, values, ahead_s, now)
        return _log(request, vehicle, values, ahead_s, now)


def _row(request: AccessRequest, values: dict[str, Any], ahead_s: float, now: datetime) -> Outcome:
    """A row of bays: stored as far as it can be, and what could not be said car by car."""
    done_at = values["done_at"] or now
    claim = RowClaim(
        access=request.access,
        key=values["key"],
        now=now,
        done_at=done_at,
        units=values["units"],
        claim_skew_s=skew(done_at, ahead_s, now),
        seen=values["seen"],
    )
    try:
        forms, walked = take_row(claim, values["fields_"], _files(request, values["key"]))
    except ValidationError as fault:
        return {"state": "refused", "says": " ".join(fault.messages)}
    faults = faults_of(forms, walked)
    if faults:
        return {"state": "refused", "says": f"{told(walked)}. " + " ".join(faults)}
    clashes = [describe_clash(request.access.person, clash) for clash in walked.clashes]
    return {"state": "clash", "says": " ".join(clashes)} if clashes else {"state": "stored"}


def _shift_note(request: AccessRequest, values: dict[str, Any], ahead_s: float, now: datetime) -> Outcome:
    site = request.access.sites().filter(pk=values["site"]).first()
    if site is None:
        return {"state": "refused", "says": UNKNOWN_SITE}
    at = (values["done_at"] or now) - timedelta(seconds=skew(values["done_at"], ahead_s, now))
    words, by = values["fields_"].get("words", ""), request.access.person
    try:
        leave_note(site=site, by=by, words=words, at=min(at, now), idempotency_key=values["key"])
    except ValidationError as fault:
        return {"state": "refused", "says": " ".join(fault.messages)}
    return {"state": "stored"}


def _pass_on(
    request: AccessRequest, vehicle: Vehicle, values: dict[str, Any], ahead_s: float, now: datetime
) -> Outcome:
    """Given to a colleague or to another day; with a reason, it is logged as not done as well."""
    today, by = timezone.localdate(), request.access.person
    form = PassOnForm(values["fields_"], people=list(colleagues(vehicle)), today=today)
    if not form.is_valid():
        return {
            "state": "refused",
            "says": _words({n: [str(t) for t in texts] for n, texts in form.errors.items()}),
        }
    sent = form.cleaned_data
    try:
        with transaction.atomic():
            if sent["reason"]:
                log_entry(
                    vehicle=vehicle,
                    kind=CareKind.NOT_DONE,
                    details={"duty": values["duty"], "reason": sent["reason"]},
                    done_at=values["done_at"],
                    by=by,
                    now=now,
                    idempotency_key=values["key"],
                    claim_skew_s=skew(values["done_at"], ahead_s, now),
                )
            choose(
                vehicle=vehicle,
                duty=values["duty"],
                day=sent["day"],
                person=sent["person"],
                by=by,
                today=today,
                now=now,
            )
    except ValidationError as fault:
        return {"state": "refused", "says": " ".join(fault.messages)}
    return {"state": "stored"}


def _files(request: AccessRequest, key: str) -> "MultiValueDict[str, Any]":
    """The files that came with one entry, by the name of their field."""
    sent = request.FILES.lists() if request.content_type == "multipart/form-data" else ()
    named = ((name.partition("/"), files) for name, files in sent)
    return MultiValueDict({field: files for (of, _, field), files in named if of == key})


def _vehicle(request: AccessRequest, pk: int) -> Vehicle | None:
    cars = request.access.vehicles().select_related("owner", "bay__building__site", "organisation")
    return cars.filter(pk=pk).first()


def _log(
    request: AccessRequest, vehicle: Vehicle, values: dict[str, Any], ahead_s: float, now: datetime
) -> Outcome:
    form_class, done_at = STEP_FORMS[values["kind"]], values["done_at"]
    if entry := stored_under(vehicle, values["key"]):
        return _stored_before(entry, form_class, done_at)
    form = _form(request, vehicle, values, now)
    if form.files.getlist("attachments") and "attachments" not in form.fields:
        return {"state": "refused", "says": NO_PICTURES}
    if not form.is_valid():
        return _faulty(form)
    try:
        claim = Claim(
            by=request.access.person,
            now=now,
            done_at=done_at,
            claim_skew_s=skew(done_at, ahead_s, now),
            seen=values["seen"],
            finding=_finding(vehicle, values["finding"]),
        )
        logged = log_form(form, claim)
    except ValidationError as error:
        form.take_faults(error)
        return _faulty(form)
    if isinstance(logged, Logged):
        return {"state": "stored" if logged.created else "before", "entry": str(logged.entry.pk)}
    return {"state": "clash", "says": describe_clash(request.access.person, logged)}


def skew(done_at: datetime | None, ahead_s: float, now: datetime) -> int:
    """Seconds by which the phone's clock runs ahead of ours (negative: behind), 0 when near enough.

    A clock that was set right between the doing and the sending still shows in a time yet to come.
    """
    grace = CLOCK_GRACE.total_seconds()
    if abs(ahead_s) <= grace:
        ahead_s = (done_at - now).total_seconds() if done_at else 0
        return round(ahead_s) if ahead_s > grace else 0
    return round(ahead_s)


def _stored_before(entry: Entry, form: type[CareForm], done_at: datetime | None) -> Outcome:
    """A replay; what has changed at the car since does not matter to it."""
    if entry.kind != form.kind or done_at not in (None, entry.done_at):
        return {"state": "refused", "says": KEY_OF_ANOTHER}
    return {"state": "before", "entry": str(entry.pk)}


def _form(request: AccessRequest, vehicle: Vehicle, values: dict[str, Any], now: datetime) -> CareForm:
    """The form that the page showed, in the units in which it asked, filled in as sent."""
    car = AtTheCar(
        vehicle=vehicle,
        edge=edge(values["units"]),
        now=now,
        last=last_values(vehicle),
        bays=list(free_bays(request.access.bays(), vehicle)),
        tags=list(open_tags([vehicle])),
        duty=values["check"] or values["duty"],
        short=True,
    )
    fields = values["fields_"]
    fields["key"] = values["key"]
    files = _files(request, values["key"])
    return with_photographs(at_the_step(STEP_FORMS[values["kind"]](fields, files, car=car)))


def _finding(vehicle: Vehicle, pk: Any) -> Entry | None:
    """What is answered; None where nothing is, ValidationError where no such finding is on the car."""
    if pk is None:
        return None
    finding = Entry.objects.filter(
        vehicle=vehicle, kind=CareKind.NOTE, details__has_key="found", pk=pk
    ).first()
    if finding is None:
        raise ValidationError({"finding": "No such finding is written down for this car."})
    return finding


def _faulty(form: CareForm) -> Outcome:
    faults = {name: [str(text) for text in texts] for name, texts in form.errors.items()}
    labels = {
        str(form.fields[name].label) if name in form.fields else "": texts for name, texts in faults.items()
    }
    return {"state": "refused", "says": _words(labels), "faults": faults}


def _words(faults: dict[str, list[str]]) -> str:
    return " ".join(
        f"{name}: {' '.join(texts)}" if name else " ".join(texts) for name, texts in faults.items()
    )
