"""A car goes out, and comes back: one page at the car, whichever of the two is next."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from collection.care.cautions import DEFER, cautions_for
from collection.care.queries.care import free_bays, open_tags, zone_of
from collection.drawing.templatetags.measures import distance
from collection.models import CareKind, Entry, Vehicle
from collection.permissions import WORK, AccessRequest, needs
from collection.round.actions.outings import TAGGED, Said, come_back, go_out, is_logged
from collection.round.forms.outings import BackForm, OutForm
from collection.round.queries.outings import last_odometer, out_since
from collection.web.form_faults import saved
from collection.web.templatetags.longstand import day
from collection.web.units import edge


@needs(WORK)
def outing(request: AccessRequest, pk: int) -> HttpResponse:
    """The readings with which it goes out, or those with which it comes back."""
    vehicle = request.access.vehicle(pk)
    timezone.activate(zone_of(vehicle))  # until the view returns: see collection.permissions.needs
    if request.method == "POST" and is_logged(vehicle, request.POST.get("key", "")[:40]):
        return redirect("car", vehicle.pk)
    out = out_since(vehicle)
    if request.method == "POST" and request.POST.get("way") != ("back" if out else "out"):
        messages.error(request, "Somebody was quicker: see where the car is now.")
        return redirect("outing", vehicle.pk)
    form = _form(request, vehicle, out)

    def act() -> None:
        values = dict(form.cleaned_data)
        said = Said(request.access.person, values["key"], timezone.now(), values["odometer_km"], form.words)
        if isinstance(form, BackForm):
            of_drive = {name: values[name] for name in ("bay", "minutes", "warm", "noticed", "danger")}
            come_back(vehicle, said, **of_drive)
        else:
            go_out(vehicle, said)

    if request.method == "POST" and saved([form], act):
        messages.success(request, f"{vehicle} {'is back' if out else 'is out on the road'}.")
        return redirect("car", vehicle.pk)
    shown = {
        "car": vehicle,
        "form": form,
        "out": out,
        "tags": open_tags([vehicle]),
        "cautions": cautions_for(CareKind.RUN_UP),
        "defer": DEFER,
        "tagged": TAGGED,
    }
    return render(request, "round/ready/outing.html", shown)


def _form(request: AccessRequest, vehicle: Vehicle, out: Entry | None) -> OutForm | BackForm:
    data = request.POST if request.method == "POST" else None
    reader, read = edge(request.access.person.units), last_odometer(vehicle)
    shared: dict[str, Any] = {"edge": reader, "last": ""}
    if read and read.odometer_km is not None:
        at = day(read.on or read.recorded_at)
        shared["last"] = f"{distance(read.odometer_km, request.access.person.units)} on {at}"
    if out is None:
        return OutForm(data, **shared)
    bays = free_bays(request.access.bays(), vehicle)
    return BackForm(data, bays=bays, left=out.details.get("from_bay"), **shared)
