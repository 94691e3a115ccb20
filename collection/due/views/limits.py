"""The organisation's own thresholds beside our defaults."""

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone

from collection.due.actions.thresholds import OwnValue, save_thresholds
from collection.due.forms.thresholds import ThresholdForm
from collection.life.core import choices
from collection.permissions import MANAGE, AccessRequest, needs
from collection.web.form_faults import saved
from collection.web.units import edge


@needs(MANAGE)
def limits(request: AccessRequest) -> HttpResponse:
    """Every threshold with its default, limits and reason; an empty own value is the default."""
    forms = _forms(request)
    if request.method == "POST" and saved(forms, lambda: _save(request, forms)):
        messages.success(request, "Intervals and limits saved; all dates are worked out anew.")
        return redirect("limits")
    return render(request, "due/limits/thresholds.html", {"forms": forms})


def _forms(request: AccessRequest) -> list[ThresholdForm]:
    own = {row.name: OwnValue(row.value, row.reason) for row in request.access.organisation.thresholds.all()}
    sent = _sent(request)
    units = edge(request.access.person.units)
    terms = choices.thresholds()
    return [ThresholdForm(sent, term=term, edge=units, own=own.get(term.name)) for term in terms]


def _sent(request: AccessRequest) -> QueryDict | None:
    """What was sent; the button beside a threshold empties it."""
    if request.method != "POST":
        return None
    sent = request.POST.copy()
    if name := sent.get("reset"):
        sent[f"{name}-value"] = sent[f"{name}-reason"] = ""
    return sent


def _save(request: AccessRequest, forms: list[ThresholdForm]) -> None:
    given = {form.term.name: value for form in forms if (value := form.given())}
    now = timezone.now()
    save_thresholds(
        organisation=request.access.organisation,
        own=given,
        by=request.access.person,
        today=timezone.localdate(now),
        now=now,
    )
