"""A car wanted on a day: its keepers say so, and withdraw it."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from collection.care.queries.care import zone_of
from collection.life.refresh import recompute_stale
from collection.permissions import WORK, AccessRequest, needs
from collection.round.actions.ready import want_ready, withdraw
from collection.round.core.wishes import live_wishes, ready_of
from collection.round.forms.ready import ReadyForm
from collection.web.form_faults import saved
from collection.web.templatetags.longstand import day


@needs(WORK)
def ready(request: AccessRequest, pk: int) -> HttpResponse:
    """Say that a car is wanted on a day; what is wanted already stands beside it."""
    vehicle = request.access.vehicle(pk)
    timezone.activate(zone_of(vehicle))  # until the view returns: see collection.permissions.needs
    today = timezone.localdate()
    form = ReadyForm(request.POST if request.method == "POST" else None)

    def act() -> None:
        recompute_stale(request.access, today, request.access.only(vehicle))
        want_ready(
            vehicle=vehicle, by=request.access.person, today=today, now=timezone.now(), **form.cleaned_data
        )

    if request.method == "POST" and saved([form], act):
        messages.success(request, f"{vehicle} is to be ready by {day(form.cleaned_data['day'])}.")
        return redirect("car", vehicle.pk)
    shown = {"car": vehicle, "form": form, "today": today, "wishes": ready_of(request.access, vehicle, today)}
    return render(request, "round/ready/ready.html", shown)


@require_POST
@needs(WORK)
def ready_end(request: AccessRequest, pk: int, wish: int) -> HttpResponse:
    """It is no longer wanted."""
    vehicle = request.access.vehicle(pk)
    timezone.activate(zone_of(vehicle))  # until the view returns: see collection.permissions.needs
    today = timezone.localdate()
    row = get_object_or_404(live_wishes(request.access, today), vehicle=vehicle, pk=wish)
    withdraw(wish=row, today=today, now=timezone.now())
    messages.success(request, f"{vehicle} is no longer wanted on {day(row.day)}.")
    return redirect("car", vehicle.pk)
