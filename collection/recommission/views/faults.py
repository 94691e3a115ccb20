"""Finding one fault: how likely each cause is by now, which test next, in any order."""

from uuid import uuid4

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from collection.care import core as choices
from collection.care.actions.care import log_entry
from collection.care.forms.recommissioning import FaultTestForm
from collection.models import CareKind, Vehicle
from collection.permissions import WORK, AccessRequest, needs
from collection.recommission.core.faults import search, trees_for
from collection.recommission.forms.settings import KeyedForm
from collection.recommission.views.common import (
    AtRecommissioning,
    at_recommissioning,
    at_the_car,
    logged,
    show,
)


@needs(WORK)
def recommission_faults(request: AccessRequest, pk: int) -> HttpResponse:
    """Choose what it does, or does not do."""
    at = at_recommissioning(request, pk)
    begun = {e.details["symptom"] for e in at.record.entries if e.kind == CareKind.FAULT_TEST}
    trees = [(tree, tree.symptom in begun) for tree in trees_for(at.recommissioning, begun)]
    return show(request, "faults", at, trees=trees)


@needs(WORK)
def recommission_fault(request: AccessRequest, pk: int, symptom: str) -> HttpResponse:
    """One search: how likely each cause is, why, and the tests worth doing; a button begins it anew."""
    if symptom not in choices.trees():
        raise Http404
    at = at_recommissioning(request, pk)
    form = KeyedForm(request.POST or None)
    if request.method == "POST" and form.is_valid() and _begun_anew(request, at.vehicle, symptom, form):
        messages.success(request, "The search begins anew; the log keeps the tests before.")
        return redirect("recommission_fault", pk, symptom)
    reasons = at.recommissioning.permissions.acts if at.recommissioning else None
    result = search(symptom, at.record.entries, reasons=reasons, volts=_volts(at))
    return show(request, "fault_search", at, search=result, form=form, key=str(uuid4()))


def _begun_anew(request: AccessRequest, vehicle: Vehicle, symptom: str, form: KeyedForm) -> bool:
    try:
        log_entry(
            vehicle=vehicle,
            kind=CareKind.FAULT_TEST,
            done_at=None,
            by=request.access.person,
            idempotency_key=form.cleaned_data["key"],
            now=timezone.now(),
            details={"symptom": symptom, "begun": True},
        )
    except ValidationError as fault:
        form.add_error(None, [text for texts in fault.message_dict.values() for text in texts])
        return False
    return True


@needs(WORK)
def recommission_test(request: AccessRequest, pk: int, symptom: str, test: str) -> HttpResponse:
    """Log how one test came out, or that it could not be done."""
    tree = choices.trees().get(symptom)
    if tree is None or test not in tree.place:
        raise Http404
    at = at_recommissioning(request, pk)
    form = FaultTestForm(
        request.POST or None, request.FILES or None, car=at_the_car(request, at.vehicle, f"{symptom}/{test}")
    )
    if request.method == "POST" and logged(request, form):
        messages.success(request, "Test logged.")
        return redirect("recommission_fault", pk, symptom)
    do = choices.for_volts(tree.probe(test).do, _volts(at))
    return show(request, "fault_test", at, form=form, tree=tree, probe=tree.probe(test), do=do)


def _volts(at: AtRecommissioning) -> int | None:
    return at.recommissioning.volts if at.recommissioning else at.vehicle.system_volts_known
