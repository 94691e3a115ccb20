"""Proof: one car's history as a file that proves itself, and the signed statements over all chains."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from collection.care.queries.settings import named
from collection.chain.canonical import canonical
from collection.chain.signing import fingerprint, public_key
from collection.chain.verdict import KINDS
from collection.chain.verify import keys_of, verify
from collection.host.installation_key import installation_key
from collection.permissions import MANAGE, SEE_CARS, AccessRequest, needs
from collection.proof.actions import export_history, export_settings, without_notes
from collection.proof.queries import statement_file
from collection.proof.setting_words import setting_lines
from collection.web.units import edge

STATEMENTS_A_PAGE = 60


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
        "last": _signed_at(history["anchors"][-1]) if history["anchors"] else None,
        "keys": [fingerprint(key) for key in keys_of(history)],
    }
    return render(request, "proof/proof.html", context)


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
def statement(request: AccessRequest, pk: int) -> HttpResponse:
    """One signed statement, to print or to send; ``?as=file`` gives it to take away."""
    anchor = get_object_or_404(request.access.anchors(), pk=pk)
    told = statement_file(anchor)
    if request.GET.get("as") == "file":
        return _file(canonical(told), f"statement {anchor.number} {anchor.at:%Y-%m-%d}")
    by = told["named"]["name"] if told.get("named") else told["statement"]["by"]
    context = {"anchor": anchor, "told": told, "by": by, "key": fingerprint(told["statement"]["key"])}
    return render(request, "proof/statement.html", context)


def _signed_at(anchor: Any) -> datetime:
    return datetime.fromisoformat(anchor["statement"]["at"])


def _file(data: bytes, name: str) -> HttpResponse:
    headers = {"Content-Disposition": f'attachment; filename="{slugify(name)}.json"'}
    return HttpResponse(data, content_type="application/json", headers=headers)
