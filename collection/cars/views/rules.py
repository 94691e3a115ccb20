"""Own rules: what is decided of one duty of a car, or of a kind of car, in place of our models."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.care.actions.record import Edit
from collection.cars.actions.rules import end_kind_rule, save_car_rule, save_kind_rule
from collection.cars.forms.rules import KindRuleForm, RuleForm
from collection.cars.queries import car_rules_listed, kind_rules_listed, rule_of
from collection.life.duties import DUTY_TITLES, lines_of
from collection.models import KindRule
from collection.permissions import EDIT_CARS, MANAGE, AccessRequest, needs
from collection.web.form_faults import saved
from scheduler.vocabulary.duties import DUTY


@needs(EDIT_CARS)
def car_rule(request: AccessRequest, pk: int, duty: str) -> HttpResponse:
    """What is decided of one duty of a car."""
    if duty not in DUTY_TITLES:
        raise Http404
    vehicle, today = request.access.vehicle(pk), timezone.localdate()
    rule = rule_of(vehicle, duty)
    form = RuleForm(request.POST if request.method == "POST" else None, rule=rule)

    def save() -> None:
        form.fill()
        save_car_rule(rule=rule, edit=Edit(request.access.person, timezone.now()), today=today)

    if request.method == "POST" and saved([form], save):
        what = "as worked out" if rule.is_empty else "decided"
        messages.success(request, f"{DUTY_TITLES[duty]} of {vehicle}: {what}.")
        return redirect("why", vehicle.pk, duty)
    shown = {
        "vehicle": vehicle,
        "duty": duty,
        "title": DUTY_TITLES[duty],
        "form": form,
        "rule": rule if rule.pk else None,
        "harm": DUTY[duty].harm,
        "line": next((line for line in lines_of(vehicle, today) if line.duty == duty), None),
        "today": today,
    }
    return render(request, "cars/rules/car_rule.html", shown)


@require_safe
@needs(EDIT_CARS)
def own_rules(request: AccessRequest) -> HttpResponse:
    """Everything that is decided in place of our models."""
    shown = {
        "kinds": kind_rules_listed(request.access),
        "rules": car_rules_listed(request.access),
        "today": timezone.localdate(),
    }
    return render(request, "cars/rules/own_rules.html", shown)


@needs(MANAGE)
def kind_rule_new(request: AccessRequest) -> HttpResponse:
    """A rule for every car of a kind."""
    return _kind_rule(request, KindRule(organisation=request.access.organisation))


@needs(MANAGE)
def kind_rule(request: AccessRequest, pk: int) -> HttpResponse:
    """A rule of a kind as it stands."""
    return _kind_rule(request, request.access.kind_rule(pk))


def _kind_rule(request: AccessRequest, rule: KindRule) -> HttpResponse:
    form = KindRuleForm(request.POST if request.method == "POST" else None, rule=rule)
    edit, changed = Edit(request.access.person, timezone.now()), []

    if rule.pk and "end" in request.POST:
        count = end_kind_rule(rule=rule, edit=edit, today=timezone.localdate())
        messages.success(request, f"Taken off {_cars(count)}: their dates are as worked out.")
        return redirect("own_rules")

    def save() -> None:
        form.fill()
        changed.append(save_kind_rule(rule=rule, edit=edit, today=timezone.localdate()))

    if request.method == "POST" and saved([form], save):
        messages.success(request, f"Decided for {_cars(changed[0])}.")
        return redirect("own_rules")
    return render(request, "cars/rules/kind_rule.html", {"form": form, "rule": rule})


def _cars(count: int) -> str:
    return f"{count} car" if count == 1 else f"{count} cars"
