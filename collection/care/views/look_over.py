"""The first look at a car that is to be looked over."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from collection.care.actions.look_over import look_over as log_look
from collection.care.cautions import DEFER, cautions_for
from collection.care.forms.look_over import LookOverForm
from collection.care.queries.care import zone_of
from collection.models import CareKind
from collection.permissions import WORK, AccessRequest, needs
from collection.web.units import edge


@needs(WORK)
def look_over(request: AccessRequest, pk: int) -> HttpResponse:
    """One form at the car, which sets its first readings."""
    vehicle = request.access.vehicle(pk)
    timezone.activate(zone_of(vehicle))  # until the view returns: see collection.permissions.needs
    form = LookOverForm(request.POST or None, vehicle=vehicle, edge=edge(request.access.person.units))
    if request.method == "POST" and form.is_valid() and _logged(request, form):
        messages.success(request, f"{vehicle} is looked over.")
        return redirect("car", vehicle.pk)
    shown = {
        "car": vehicle,
        "form": form,
        "cautions": cautions_for(CareKind.INSPECTED, ""),
        "defer": DEFER,
    }
    return render(request, "care/look_over.html", shown)


def _logged(request: AccessRequest, form: LookOverForm) -> bool:
    """Whether the log took it; what it refuses is shown in the form."""
    try:
        log_look(
            vehicle=form.vehicle,
            drafts=form.drafts(),
            by=request.access.person,
            idempotency_key=form.cleaned_data["key"],
            now=timezone.now(),
        )
    except ValidationError as error:
        for name, texts in error.message_dict.items():
            for text in texts:
                form.add_error(name if name in form.fields else None, text)
        return False
    return True
