"""Proof: one car's history as a file that proves itself, and the signed statements over all chains."""

from datetime import datetime
from secrets import token_hex
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Count, Max
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from collection.care.queries.settings import named
from collection.chain.canonical import canonical
from collection.chain.links import SALT_BYTES, instant
from collection.chain.signing import fingerprint, public_key
from collection.chain.verdict import KINDS
from collection.chain.verify import keys_of, verify
from collection.host.installation_key import installation_key
from collection.models import Chain, Witness, Witnessed
from collection.people.passkeys import passkeys_of
from collection.permissions import MANAGE, SEE_CARS, SHARE, AccessRequest, needs
from collection.proof.actions import export_history, export_settings, without_notes
from collection.proof.forms import CountersignForm, WitnessForm
from collection.proof.queries import received_here, statement_file, witnessed_since
from collection.proof.setting_words import setting_lines
from collection.proof.witnessing import add_witness, end_witness
from collection.proof.witnessing import countersign as add_countersignature
from collection.web.form_faults import saved
from collection.web.units import edge

STATEMENTS_A_PAGE = 60
MOST_DIGITS = 18  # longer than any row number


@needs(SEE_CARS)
@require_safe
def trust(request: AccessRequest) -> HttpResponse:
    """What the proof is worth, the key, and for managers the statements."""
    context: dict[str, Any] = {"key": fingerprint(public_key(installation_key()))}
    if request.access.may_manage:
        pages = Paginator(request.access.anchors(), STATEMENTS_A_PAGE)
        context["statements"] = pages.get_page(request.GET.get("page"))
        context["settings"] = [(chain.pk, named(chain)) for chain in request.access.setting_chains()]
    return render(request, "proof/trust.html", context)


@needs(SEE_CARS)
@require_safe
def proof(request: AccessRequest, pk: int) -> HttpResponse:
    """Whether one car's history is sound as it stands now.

    ``?as=file`` gives it to take away, ``&without=notes`` without the notes of its entries.
    """
    vehicle = request.access.vehicle(pk)
    now = timezone.now()
    if request.GET.get("without") == "notes":
        data = export_history(vehicle, now=now, without=without_notes)
    else:
        data = export_history(vehicle, now=now)
    if request.GET.get("as") == "file":
        return _file(data, f"history {vehicle} {timezone.localdate()}")
    verdict = verify(data)
    history: Any = verdict.history or {"entries": [], "anchors": [], "key": public_key(installation_key())}
    context = {
        "vehicle": vehicle,
        "history": history,
        "remarks": verdict.remarks,
        "faults": [(KINDS[fault.kind], fault.text) for fault in verdict.faults],
        "witnessed": witnessed_since(vehicle),
        "received": received_here(vehicle),
        "last": _signed_at(history["anchors"][-1]) if history["anchors"] else None,
        "keys": [fingerprint(key) for key in keys_of(history)],
    }
    return render(request, "proof/proof.html", context)


@needs(SEE_CARS)
def witnesses(request: AccessRequest) -> HttpResponse:
    """Who outside is shown the signed statements; who may not manage sees and sets their own address."""
    access, now = request.access, timezone.now()
    sent = request.POST if request.method == "POST" else None
    if sent and sent.get("what") == "end":
        end_witness(witness=get_object_or_404(access.witnesses(), pk=_number(sent)), now=now)
        messages.success(request, "Ended. What was shown stays.")
        return redirect("witnesses")
    own = {"kind": Witness.Kind.MAIL, "name": access.person.name, "to": access.person.email}
    form = WitnessForm(sent if access.may_manage else own if sent else None)

    def add() -> None:
        add_witness(organisation=access.organisation, by=access.person, now=now, **form.cleaned_data)

    if sent and saved([form], add):
        messages.success(request, "Added. It is shown the statements within minutes, if the worker runs.")
        return redirect("witnesses")
    rows = access.witnesses().annotate(shown=Count("witnessed"), last=Max("witnessed__at"))
    return render(request, "proof/witnesses.html", {"form": form, "witnesses": rows})


def _number(sent: QueryDict) -> int:
    digits = sent.get("witness", "")
    return int(digits) if digits.isdecimal() and len(digits) <= MOST_DIGITS else 0


@needs(SHARE)
def countersign(request: AccessRequest, pk: int) -> HttpResponse:
    """Somebody beside the keeper signs where the car's chain ends, with a key of their own."""
    vehicle, now = request.access.vehicle(pk), timezone.now()
    chain = Chain.objects.filter(vehicle=vehicle).first()
    form = CountersignForm(request.POST if request.method == "POST" else None)

    def sign() -> None:
        if chain is not None:
            add_countersignature(chain=chain, signed=form.cleaned_data["signed"], now=now)

    if request.method == "POST" and saved([form], sign):
        messages.success(request, "Countersigned. It stands in every file of this history from now on.")
        return redirect("proof", vehicle.pk)
    last = chain.links.order_by("-seq").first() if chain else None
    shown: dict[str, Any] = {"vehicle": vehicle, "form": form, "last": last}
    if chain and last:
        passkeys = passkeys_of(request.access.person)
        head = {"chain": str(chain.pk), "seq": last.seq, "head": last.digest, "at": instant(now)}
        shown |= {"passkeys": passkeys, "data": head | {"salt": token_hex(SALT_BYTES), "passkeys": passkeys}}
    return render(request, "proof/countersign.html", shown)


@needs(MANAGE)
@require_safe
def settings_proof(request: AccessRequest, pk: UUID) -> HttpResponse:
    """What was set for a site or the organisation, by day, and whether it is sound; ``?as=file`` gives it."""
    chain = get_object_or_404(request.access.setting_chains(), pk=pk)
    data = export_settings(chain, now=timezone.now())
    name = named(chain)["name"]
    if request.GET.get("as") == "file":
        return _file(data, f"settings {name} {timezone.localdate()}")
    lines = setting_lines(chain, edge(request.access.person.units))
    context = {
        "name": name,
        "faults": [(KINDS[fault.kind], fault.text) for fault in verify(data).faults],
        "lines": Paginator(lines, STATEMENTS_A_PAGE).get_page(request.GET.get("page")),
    }
    return render(request, "proof/settings.html", context)


@needs(MANAGE)
@require_safe
def stamp(request: AccessRequest, pk: int) -> HttpResponse:
    """An authority's answer as any programme for time stamps reads it (RFC 3161, 3.4)."""
    row = get_object_or_404(Witnessed, pk=pk, anchor__in=request.access.anchors(), response__gt="")
    headers = {"Content-Disposition": f'attachment; filename="statement-{row.anchor.number}.tsr"'}
    return HttpResponse(
        bytes.fromhex(row.response), content_type="application/timestamp-reply", headers=headers
    )


@needs(MANAGE)
@require_safe
def statement(request: AccessRequest, pk: int) -> HttpResponse:
    """One signed statement, to print or to send; ``?as=file`` gives it to take away."""
    anchor = get_object_or_404(request.access.anchors(), pk=pk)
    told = statement_file(anchor)
    if request.GET.get("as") == "file":
        return _file(canonical(told), f"statement {anchor.number} {anchor.at:%Y-%m-%d}")
    by = told["named"]["name"] if told.get("named") else told["statement"]["by"]
    context = {
        "anchor": anchor,
        "told": told,
        "by": by,
        "key": fingerprint(told["statement"]["key"]),
        "shown_to": anchor.witnessed.select_related("witness"),
    }
    return render(request, "proof/statement.html", context)


def _signed_at(anchor: Any) -> datetime:
    return datetime.fromisoformat(anchor["statement"]["at"])


def _file(data: bytes, name: str) -> HttpResponse:
    headers = {"Content-Disposition": f'attachment; filename="{slugify(name)}.json"'}
    return HttpResponse(data, content_type="application/json", headers=headers)
