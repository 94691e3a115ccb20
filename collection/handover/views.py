"""Cars that leave our hands with their history, and cars that come with theirs."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from collection.care.queries.care import free_bays
from collection.chain.handover import with_receipt
from collection.chain.signing import fingerprint, public_key
from collection.chain.verdict import KINDS
from collection.handover.actions.arrivals import Arrival, Taken, arrive
from collection.handover.actions.handovers import hand_over as act_hand_over
from collection.handover.actions.receipts import receipt_file, take_receipt
from collection.handover.forms import ArriveForm, HandOverForm, ReceiptForm
from collection.handover.queries.handovers import file_of, is_kept, receipt_of
from collection.handover.queries.handovers import own_receipt as query_receipt
from collection.host.installation_key import installation_key
from collection.models import Vehicle
from collection.permissions import MANAGE, AccessRequest, needs
from collection.web.form_faults import saved
from collection.web.sorting import Column, Sorting

COLUMNS = (
    Column("when", "When", ("at",)),
    Column("car", "Car", ("vehicle__marque", "vehicle__model", "vehicle__year")),
    Column("to", "To", ("to",)),
    Column("by", "By", ("by__name",)),
    Column("digest", "SHA-256 of the file"),
    Column("file", "File"),
)


@needs(MANAGE)
def hand_over(request: AccessRequest, pk: int) -> HttpResponse:
    """Give a car out of our hands."""
    vehicle, person = request.access.vehicle(pk), request.access.person
    form = HandOverForm(request.POST if request.method == "POST" else None)

    def give() -> None:
        act_hand_over(vehicle=vehicle, to=form.cleaned_data["to"], by=person, now=timezone.now())

    if request.method == "POST" and saved([form], give):
        messages.success(
            request, f"{vehicle} is handed over. Save its file below and give it to the new keeper."
        )
        return redirect("handovers")
    return render(request, "handover/hand_over.html", {"vehicle": vehicle, "form": form})


@require_safe
@needs(MANAGE)
def handovers(request: AccessRequest) -> HttpResponse:
    """What was handed over, each with its file, and the key to be told by another way."""
    listed = Sorting(request.GET, COLUMNS)
    given = listed.rows(request.access.handovers().select_related("vehicle", "by"))
    rows = [(each, is_kept(each), receipt_of(each)) for each in given]
    key = fingerprint(public_key(installation_key()))
    return render(request, "handover/handovers.html", {"handovers": rows, "heads": listed.heads, "key": key})


@require_safe
@needs(MANAGE)
def handover_file(request: AccessRequest, pk: int) -> HttpResponse:
    """The file that goes along."""
    handover = get_object_or_404(request.access.handovers().select_related("vehicle"), pk=pk)
    name = slugify(f"handover {handover.vehicle} {handover.at:%Y-%m-%d}")
    file = file_of(handover)
    if file is None:
        raise Http404("This file is kept no longer: somebody named in it was forgotten.")
    headers = {"Content-Disposition": f'attachment; filename="{name}.zip"'}
    if receipt := receipt_of(handover):
        file = with_receipt(file, receipt_file(receipt))
    return HttpResponse(file, content_type="application/zip", headers=headers)


@needs(MANAGE)
def handover_receipt(request: AccessRequest, pk: int) -> HttpResponse:
    """The receipt of whoever received a car, put into the file of its hand-over."""
    handover = get_object_or_404(request.access.handovers().select_related("vehicle"), pk=pk)
    sent = (request.POST, request.FILES) if request.method == "POST" else (None, None)
    form = ReceiptForm(*sent)

    def take() -> None:
        take_receipt(handover=handover, data=form.cleaned_data["receipt"].read())

    if request.method == "POST" and saved([form], take):
        messages.success(request, "Kept. The file of this hand-over is now signed by both sides.")
        return redirect("handovers")
    return render(request, "handover/receipt.html", {"handover": handover, "form": form})


@require_safe
@needs(MANAGE)
def own_receipt(request: AccessRequest, pk: int) -> HttpResponse:
    """What we signed when a car came, for whoever handed it over."""
    row = query_receipt(request.access.vehicle(pk))
    if row is None:
        raise Http404("This car was not received by a file.")
    headers = {"Content-Disposition": 'attachment; filename="receipt.json"'}
    return HttpResponse(receipt_file(row), content_type="application/json", headers=headers)


@needs(MANAGE)
def car_arrive(request: AccessRequest) -> HttpResponse:
    """Take a car over from its file: verified first, stored whole or not at all."""
    access = request.access
    sent = (request.POST, request.FILES) if request.method == "POST" else (None, None)
    form = ArriveForm(*sent, owners=access.owners(), bays=free_bays(access.bays(), Vehicle()))
    taken: list[Taken] = []

    def take() -> None:
        values = form.cleaned_data
        arrival = Arrival(access.organisation, values["owner"], values["bay"], access.person, timezone.now())
        keys = (values["key"],) if values["key"] else ()
        taken.append(arrive(data=values["file"].read(), keys=keys, arrival=arrival))

    shown: dict[str, Any] = {"form": form, "faults": []}
    if request.method == "POST" and saved([form], take):
        arrived = taken[0]
        if arrived.vehicle:
            messages.success(request, _welcome(arrived))
            return redirect("history", arrived.vehicle.pk)
        shown["faults"] = [(KINDS[fault.kind], fault.text) for fault in arrived.verdict.faults]
    return render(request, "handover/arrive.html", shown)


def _welcome(taken: Taken) -> str:
    remarks = " ".join(taken.verdict.remarks)
    text = f"{taken.vehicle} is received; its history is sound. It was signed with the key {taken.key}. "
    text += "Send the receipt back: it stands under Proof."
    if taken.missing:
        text += f" Photographs and documents that did not come along: {taken.missing}."
    return f"{text} Worth knowing: {remarks}" if remarks else text
