"""What things cost the organisation."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from collection.care.actions.record import Edit
from collection.due.actions.prices import save_rates
from collection.due.forms.prices import RatesForm
from collection.due.queries.prices import own_rates
from collection.permissions import MANAGE, AccessRequest, needs
from collection.web.form_faults import saved


@needs(MANAGE)
def prices(request: AccessRequest) -> HttpResponse:
    """Every rate with its default; an empty field is the default."""
    organisation = request.access.organisation
    sent = request.POST if request.method == "POST" else None
    form = RatesForm(sent, organisation=organisation, own=own_rates(organisation))

    def save() -> None:
        edit = Edit(request.access.person, timezone.now())
        save_rates(organisation=organisation, own=form.own(), money=form.cleaned_data["money"], edit=edit)

    if request.method == "POST" and saved([form], save):
        messages.success(request, "Prices saved; every estimate uses them from now on.")
        return redirect("prices")
    return render(request, "due/prices/prices.html", {"form": form})
