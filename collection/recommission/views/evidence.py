"""Evidence found on the car: choose the kind, write it down, replace or withdraw it."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from collection.care import core as choices
from collection.care.queries.care import zone_of
from collection.models import Evidence, Vehicle
from collection.permissions import WORK, AccessRequest, needs
from collection.recommission.actions.evidence import save_evidence, withdraw_evidence
from collection.recommission.forms.settings import EvidenceForm, WithdrawEvidenceForm
from collection.recommission.queries import evidence_of
from collection.web.form_faults import saved
from collection.web.units import edge


@needs(WORK)
def evidence_kinds(request: AccessRequest, pk: int) -> HttpResponse:
    """Choose what was found."""
    vehicle = request.access.vehicle(pk)
    named = set(evidence_of(vehicle).values_list("kind", flat=True))
    kinds = [(kind, kind.name in named) for kind in choices.evidence_kinds().values()]
    return render(request, "recommission/evidence_kinds.html", {"vehicle": vehicle, "kinds": kinds})


@needs(WORK)
def evidence_new(request: AccessRequest, pk: int, kind: str) -> HttpResponse:
    """Write down one find."""
    if kind not in choices.evidence_kinds():
        raise Http404
    vehicle = _vehicle(request, pk)
    form = _form(request, kind, None, request.POST or None)
    if request.method == "POST" and saved([form], lambda: _save(request, vehicle, form)):
        messages.success(request, f"{form.kind.label}: written down.")
        return redirect("recommissioning", vehicle.pk)
    return render(
        request, "recommission/evidence.html", {"vehicle": vehicle, "form": form, "kind": form.kind}
    )


@needs(WORK)
def evidence_correct(request: AccessRequest, pk: int, row: UUID) -> HttpResponse:
    """Replace a find by a right one, or take it back."""
    vehicle = _vehicle(request, pk)
    old = get_object_or_404(evidence_of(vehicle), pk=row)
    taking_back = "withdraw" in request.POST
    form = _form(request, old.kind, old, None if taking_back else request.POST or None)
    back = WithdrawEvidenceForm(request.POST if taking_back else None, auto_id="withdraw_%s")
    if request.method == "POST":
        done = (
            saved([back], lambda: _withdraw(request, old, back))
            if taking_back
            else saved([form], lambda: _save(request, vehicle, form))
        )
        if done:
            messages.success(request, "Taken back." if taking_back else "Replaced; the old one is kept.")
            return redirect("recommissioning", vehicle.pk)
    context = {"vehicle": vehicle, "form": form, "kind": form.kind, "old": old, "withdraw": back}
    return render(request, "recommission/evidence.html", context)


def _vehicle(request: AccessRequest, pk: int) -> Vehicle:
    vehicle = request.access.vehicle(pk)
    timezone.activate(zone_of(vehicle))  # until the view returns: see collection.permissions.needs
    return vehicle


def _form(request: AccessRequest, kind: str, old: Evidence | None, sent: Any) -> EvidenceForm:
    own = choices.evidence_kinds()[kind]
    files = request.FILES if sent else None
    return EvidenceForm(sent, files, kind=own, edge=edge(request.access.person.units), old=old)


def _save(request: AccessRequest, vehicle: Vehicle, form: EvidenceForm) -> None:
    row, key, files = form.row(vehicle), form.cleaned_data["key"], form.cleaned_data["document"]
    save_evidence(row=row, by=request.access.person, key=key, now=timezone.now(), files=files)


def _withdraw(request: AccessRequest, old: Evidence, form: WithdrawEvidenceForm) -> None:
    values = form.cleaned_data
    withdraw_evidence(
        row=old, by=request.access.person, key=values["key"], now=timezone.now(), reason=values["reason"]
    )
