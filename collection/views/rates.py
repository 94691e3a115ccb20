"""What things cost the organisation."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render

from collection.actions.rates import save_rates
from collection.forms.faults import saved
from collection.forms.rates import RatesForm
from collection.permissions import MANAGE, AccessRequest, needs
from collection.queries.rates import own_rates


@needs(MANAGE)
def rates(request: AccessRequest) -> HttpResponse:
    """Every rate with its default; an empty field is the default."""
    organisation = request.access.organisation
    sent = request.POST if request.method == "POST" else None
    form = RatesForm(sent, organisation=organisation, own=own_rates(organisation))

    def save() -> None:
        save_rates(organisation=organisation, own=form.own(), money=form.cleaned_data["money"])

    if request.method == "POST" and saved([form], save):
        messages.success(request, "Rates saved; every estimate uses them from now on.")
        return redirect("rates")
    return render(request, "rates/rates.html", {"form": form})
