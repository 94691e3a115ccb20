"""Where the bays of a building lie on its floor: dragged, moved by keys, or typed."""

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from collection.drawing.floor import Rect, lay_out
from collection.models import Bay
from collection.permissions import MANAGE, AccessRequest, needs
from collection.places.actions.arrange import arrange_bays, lay_out_again
from collection.places.floor import spots_of
from collection.places.forms.places import LieForm
from collection.web.form_faults import saved
from collection.web.units import edge

ROOM_M = 4.0  # about what is drawn, to move a bay into


@dataclass(frozen=True)
class Laid:
    """One bay with its form and where it is drawn, in metres from the corner above on the left."""

    bay: Bay
    form: LieForm
    rect: Rect
    top: float


@needs(MANAGE)
def arrange(request: AccessRequest, pk: int) -> HttpResponse:
    """A building's bays; the other button draws them by row and place again."""
    building = get_object_or_404(request.access.buildings().select_related("site"), pk=pk)
    if request.method == "POST" and "again" in request.POST:
        lay_out_again(building=building)
        messages.success(request, f"{building}: drawn by row and place.")
        return redirect("arrange", pk=building.pk)
    units, sent = edge(request.access.person.units), request.POST if request.method == "POST" else None
    bays = list(building.bays.prefetch_related("blocked_by").order_by("row", "place"))
    laid = lay_out(spots_of((bay, [other.pk for other in bay.blocked_by.all()]) for bay in bays))
    forms = {bay.pk: LieForm(sent, prefix=str(bay.pk), rect=laid[bay.pk], edge=units) for bay in bays}

    def keep() -> None:
        arrange_bays(building=building, rects={key: form.rect() for key, form in forms.items()})

    if forms and sent is not None and saved(list(forms.values()), keep):
        messages.success(request, f"{building}: bays arranged.")
        return redirect("arrange", pk=building.pk)
    width = max((rect.right for rect in laid.values()), default=0) + ROOM_M
    depth = max((rect.far for rect in laid.values()), default=0) + ROOM_M
    shown = {
        "building": building,
        "laid": [Laid(bay, forms[bay.pk], laid[bay.pk], depth - laid[bay.pk].far) for bay in bays],
        "width": width,
        "depth": depth,
        "unit_m": units.unit("m").to_si(1.0),
    }
    return render(request, "places/arrange.html", shown)
