"""The staged plan as a checklist at the car: steps, looks, hazards."""

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.care import core as choices
from collection.care.actions.care import log_entry
from collection.care.forms.recommissioning import LookForm, StepForm
from collection.models import CareKind, Vehicle
from collection.permissions import SEE_CARS, WORK, AccessRequest, needs
from collection.recommission.core.plan import Recommissioning, gates_of
from collection.recommission.forms.settings import HazardsForm
from collection.recommission.views.common import (
    AtRecommissioning,
    at_recommissioning,
    at_the_car,
    logged,
    show,
)
from collection.recommission.words import MARKS
from collection.web.units import Edge, edge

TO_DO = ("stop", "not done", "could not be done")  # states of a stage that ask for hands


@dataclass(frozen=True)
class Step:
    """One check as the list shows it."""

    check: choices.Check
    now: Any  # its state
    limits: list[tuple[str, str]]
    own: Any  # this car's handbook value, if there is one
    why: str  # why it is asked of this car, where not every car is asked

    @property
    def mark(self) -> str:
        """The shape of its state."""
        return MARKS[self.now.state]


@dataclass(frozen=True)
class StageOnPage:
    """One stage as the plan folds it, with the gate that ends at it."""

    key: str
    title: str
    now: Any  # its state
    steps: list[Step]
    is_next: bool
    gate: Any  # the permission whose ground ends here, or None

    @property
    def mark(self) -> str:
        """The shape of its state."""
        return MARKS[self.now.state]

    @property
    def through(self) -> int:
        """How many of its steps are through."""
        return sum(step.now.state not in TO_DO for step in self.steps)


@require_safe
@needs(SEE_CARS)
def recommission_plan(request: AccessRequest, pk: int) -> HttpResponse:
    """The next step large, what is done and what is ahead in a line each.

    With ``?as=whole`` every step with what passes, what stops and the hazards: for paper and for reading.
    """
    at = at_recommissioning(request, pk)
    if at.recommissioning is None:
        return show(request, "plan", at)
    whole = request.GET.get("as") == "whole"
    return show(
        request, "plan", at, whole=whole, **staged(at.recommissioning, edge(request.access.person.units))
    )


def staged(recommissioning: Recommissioning, reader: Edge) -> dict[str, Any]:
    """Every stage with its state and steps, the next step (None: not one step), and its stage's key."""
    pairs = zip(recommissioning.plan.stages, recommissioning.states, strict=True)
    steps = [(stage, state, _steps(recommissioning, stage, state, reader)) for stage, state in pairs]
    ready = (stage.key for stage, state, _ in steps if state.state in TO_DO and state.may_begin)
    asked = recommissioning.following.check
    next_step = next((one for _, _, all_of in steps for one in all_of if one.check.key == asked), None)
    next_stage = next_step.check.stage if next_step else next(ready, "")
    gates = gates_of(recommissioning.permissions)
    stages = [
        StageOnPage(stage.key, stage.title, now, all_of, stage.key == next_stage, gates.get(stage.key))
        for stage, now, all_of in steps
    ]
    return {"stages": stages, "next_stage": next_stage, "next_step": next_step}


def _steps(recommissioning: Recommissioning, stage: choices.Stage, state: Any, reader: Edge) -> list[Step]:
    return [
        Step(
            check,
            now,
            choices.limits(check, reader),
            recommissioning.handbook.get(check.key),
            choices.why_asked(check),
        )
        for check, now in zip(stage.checks, state.checks, strict=True)
    ]


@needs(WORK)
def recommission_step(request: AccessRequest, pk: int, check: str) -> HttpResponse:
    """Log the result of one step."""
    if check not in choices.checks():
        raise Http404
    vehicle = request.access.vehicle(pk)
    if check == choices.CARE_SET_UP:
        return redirect("recommission_end", vehicle.pk)
    at = at_recommissioning(request, pk)
    form = StepForm(request.POST or None, request.FILES or None, car=at_the_car(request, vehicle, check))
    if request.method == "POST" and logged(request, form):
        messages.success(request, "Result logged.")
        return redirect("recommission_plan", vehicle.pk)
    return show(request, "step", at, form=form, check=_in_plan(at, check), limits=_limits(request, at, check))


def _in_plan(at: AtRecommissioning, check: str) -> choices.Check:
    """The check with this car's own handbook value, where the plan has it."""
    planned = at.recommissioning.plan.checks if at.recommissioning else ()
    return next((one for one in planned if one.key == check), choices.checks()[check])


def _limits(request: AccessRequest, at: AtRecommissioning, check: str) -> list[tuple[str, str]]:
    return choices.limits(_in_plan(at, check), edge(request.access.person.units))


@needs(WORK)
def recommission_look(request: AccessRequest, pk: int, system: str) -> HttpResponse:
    """Log what somebody saw at one system."""
    if system not in choices.systems():
        raise Http404
    vehicle = request.access.vehicle(pk)
    at = at_recommissioning(request, pk)
    form = LookForm(request.POST or None, request.FILES or None, car=at_the_car(request, vehicle, system))
    if request.method == "POST" and logged(request, form):
        messages.success(request, f"{choices.systems()[system]}: logged.")
        return redirect("recommission_outlook", vehicle.pk)
    answer = (
        next((one for one in at.recommissioning.outlook if one.system == system), None)
        if at.recommissioning
        else None
    )
    return show(request, "look", at, form=form, answer=answer, title=choices.systems()[system])


@needs(WORK)
def recommission_hazards(request: AccessRequest, pk: int) -> HttpResponse:
    """Say which hazards are there now; each change is an entry in the log."""
    at = at_recommissioning(request, pk)
    there = [name for name, words in choices.hazards().items() if _is_there(at, name)]
    form = HazardsForm(request.POST or None, initial={"present": there})
    if request.method == "POST" and form.is_valid():
        try:
            _log_changes(request, at.vehicle, set(there) ^ set(form.cleaned_data["present"]), form)
        except ValidationError as fault:
            form.add_error(None, [text for texts in fault.message_dict.values() for text in texts])
        else:
            messages.success(request, "Hazards logged; the permissions are worked out anew.")
            return redirect("recommissioning", pk)
    return show(request, "hazards", at, form=form)


def _is_there(at: AtRecommissioning, name: str) -> bool:
    seen = [e for e in at.record.entries if e.kind == CareKind.HAZARD and e.details["hazard"] == name]
    return bool(seen and seen[-1].details["present"])


def _log_changes(request: AccessRequest, vehicle: Vehicle, changed: set[str], form: HazardsForm) -> None:
    for name in sorted(changed):
        details = {"hazard": name, "present": name in form.cleaned_data["present"]}
        log_entry(
            vehicle=vehicle,
            kind=CareKind.HAZARD,
            done_at=None,
            by=request.access.person,
            idempotency_key=f"{form.cleaned_data['key'][:40]}-{list(choices.hazards()).index(name)}",
            now=timezone.now(),
            details=details,
        )
