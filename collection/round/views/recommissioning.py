"""The recommissioning of one long-stood car on the phone: every step with its form, signal or not."""

import json
from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.care import core as choices
from collection.care.forms.base import AtTheCar, CareForm
from collection.care.forms.recommissioning import IN_CARE, FaultTestForm, StepForm
from collection.care.forms.steps import at_the_step, with_photographs
from collection.models import CareKind, Vehicle
from collection.permissions import WORK, AccessRequest, needs
from collection.recommission.core.faults import search_on_phone, trees_for
from collection.recommission.core.plan import Recommissioning
from collection.recommission.views.common import at_recommissioning
from collection.recommission.views.plan import Step, staged
from collection.round.views.steps import Worker
from collection.round.views.worksheet import about_page
from collection.web.units import edge


@dataclass(frozen=True)
class AtStep:
    """A step with what logs it at the car, None where no hand does, and what a stop there takes away."""

    step: Step
    form: CareForm | None
    stops: str  # the rule, as JSON
    revokes: list[tuple[int, str]]


@require_safe
@needs(WORK)
def worksheet_recommission(request: AccessRequest, pk: int) -> HttpResponse:
    """Every stage with its steps: what to do, what passes and stops, what to mind, and the form."""
    at, seen = at_recommissioning(request, pk), timezone.now()
    context = {
        "car": at.vehicle,
        "tags": at.record.tags,
        "recommissioning": at.recommissioning,
        "in_care": IN_CARE,
    }
    context["fault"] = at.fault
    if at.recommissioning and at.recommissioning.underway:
        context |= _to_do(at.recommissioning, at.vehicle, Worker(edge(request.access.person.units), seen))
    return render(request, "round/worksheet/recommissioning.html", context | about_page(request, seen))


def _to_do(recommissioning: Recommissioning, vehicle: Vehicle, worker: Worker) -> dict[str, object]:
    plan = staged(recommissioning, worker.edge)
    stages = [(stage, [_at_step(step, vehicle, worker) for step in stage.steps]) for stage in plan["stages"]]
    return {"stages": stages, "next_stage": plan["next_stage"]}


def _at_step(step: Step, vehicle: Vehicle, worker: Worker) -> AtStep:
    check = step.check
    rule, revokes = json.dumps(choices.stop_rule(check, worker.edge)), choices.revoked_by(check)
    if check.key == choices.CARE_SET_UP:
        return AtStep(step, None, rule, revokes)
    car = AtTheCar(vehicle=vehicle, edge=worker.edge, now=worker.now, duty=check.key, short=True)
    form = with_photographs(at_the_step(StepForm(car=car, auto_id=f"{check.key}-%s")))
    return AtStep(step, form, rule, revokes)


@require_safe
@needs(WORK)
def worksheet_faults(request: AccessRequest, pk: int) -> HttpResponse:
    """Every search that fits the car, which the phone goes on with without a signal."""
    at, seen = at_recommissioning(request, pk), timezone.now()
    context: dict[str, object] = {"car": at.vehicle, "tags": at.record.tags, "fault": at.fault}
    if at.recommissioning:
        entries = [entry for entry in at.record.entries if entry.kind == CareKind.FAULT_TEST]
        trees = trees_for(at.recommissioning, {entry.details["symptom"] for entry in entries})
        acts, volts = at.recommissioning.permissions.acts, at.recommissioning.volts
        first = f"{trees[0].symptom}/{trees[0].probes[0].key}"  # the script puts each test into this one form
        car = AtTheCar(at.vehicle, edge(request.access.person.units), seen, duty=first, short=True)
        context |= {
            "trees": trees,
            "on_phone": search_on_phone(trees, entries, reasons=acts, volts=volts),
            "form": with_photographs(at_the_step(FaultTestForm(car=car))),
            "first": first.split("/"),
        }
    return render(request, "round/worksheet/faults.html", context | about_page(request, seen))
