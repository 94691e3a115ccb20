"""What a year would ask for if something were kept otherwise, beside the year as it is."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.due import comparison
from collection.due.core.whatif import compare_cars
from collection.due.forms.whatif import WhatIfForm
from collection.permissions import SEE_CARS, AccessRequest, needs


@require_safe
@needs(SEE_CARS)
def whatif(request: AccessRequest) -> HttpResponse:
    """Ask, and the two years side by side; the address holds the whole question."""
    asking = "chemistry" in request.GET  # the sent form names every field; a link names only the cars
    form = WhatIfForm(
        request.GET if asking else None,
        access=request.access,
        label_suffix="",
        initial={"cars": request.GET.get("cars", "all")},
    )
    context: dict[str, Any] = {"form": form, "groups": form.groups(), "rates": form.rate_fields()}
    if asking and form.is_valid():
        context |= _compared(request, form)
    return render(request, "due/whatif/whatif.html", context)


def _compared(request: AccessRequest, form: WhatIfForm) -> dict[str, Any]:
    """Both years; a record that cannot be computed is told as it is."""
    pks = form.vehicles()
    if not pks:
        return {"fault": "no car stands there"}
    organisation = request.access.organisation.pk
    try:
        compared = compare_cars(
            pks, organisation=organisation, asked=form.asked(), costs=form.costs(), today=timezone.localdate()
        )
    except ValueError as fault:
        return {"fault": str(fault)}
    pair = (compared.now, compared.changed)
    return {
        "compared": compared,
        "totals": comparison.totals(*pair),
        "work": comparison.work(*pair),
        "risk": comparison.risk(*pair),
        "chart": comparison.work_chart(*pair),
    }
