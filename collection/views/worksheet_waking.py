"""The waking of one long-stood car on the phone: every step with its form, signal or not."""

import json
from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.bridge.waking import choices
from collection.bridge.waking.plan import Waking
from collection.forms.care.base import AtTheCar, CareForm
from collection.forms.care.steps import at_the_step
from collection.forms.care.waking import IN_CARE, StepForm
from collection.models import Vehicle
from collection.permissions import WORK, AccessRequest, needs
from collection.units import edge
from collection.views.steps import Worker
from collection.views.waking.common import at_waking
from collection.views.waking.plan import Step, staged
from collection.views.worksheet import about_page


@dataclass(frozen=True)
class AtStep:
    """A step with what logs it at the car, None where no hand does, and what a stop there takes away."""

    step: Step
    form: CareForm | None
    stops: str  # the rule, as JSON
    revokes: list[tuple[int, str]]


@require_safe
@needs(WORK)
def worksheet_waking(request: AccessRequest, pk: int) -> HttpResponse:
    """Every stage with its steps: what to do, what passes and stops, what to mind, and the form."""
    at, seen = at_waking(request, pk), timezone.now()
    context = {"car": at.vehicle, "tags": at.record.tags, "waking": at.waking, "in_care": IN_CARE}
    context["fault"] = at.fault
    if at.waking and at.waking.underway:
        context |= _to_do(at.waking, at.vehicle, Worker(edge(request.access.person.units), seen))
    return render(request, "worksheet/waking.html", context | about_page(request, seen))


def _to_do(waking: Waking, vehicle: Vehicle, worker: Worker) -> dict[str, object]:
    plan = staged(waking, worker.edge)
    stages = [
        (stage, state, [_at_step(step, vehicle, worker) for step in steps])
        for stage, state, steps in plan["stages"]
    ]
    return {"stages": stages, "next_stage": plan["next_stage"]}


def _at_step(step: Step, vehicle: Vehicle, worker: Worker) -> AtStep:
    check = step.check
    rule, revokes = json.dumps(choices.stop_rule(check, worker.edge)), choices.revoked_by(check)
    if check.key == choices.CARE_SET_UP:
        return AtStep(step, None, rule, revokes)
    car = AtTheCar(vehicle=vehicle, edge=worker.edge, now=worker.now, duty=check.key, short=True)
    return AtStep(step, at_the_step(StepForm(car=car, auto_id=f"{check.key}-%s")), rule, revokes)
