"""The building walked row by row: all well is one tap, what is not is tapped at its car."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import uuid4
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.datastructures import MultiValueDict
from django.utils.http import urlencode

from collection.care.cautions import cautions_for
from collection.care.clash_words import describe_clash
from collection.care.core.meter import meter_of
from collection.care.views.log_forms import seen_of
from collection.life.refresh import recompute_stale
from collection.models import Building
from collection.permissions import WORK, Access, AccessRequest, needs
from collection.round.actions.walk import WORKS, Walk, Walked, Work, log_walk
from collection.round.forms.walk import LineForm
from collection.round.queries.walk import AtBay, Row, cars_of, is_asked, rows_at, walked_past
from collection.round.views.worksheet import about_page
from collection.web.units import edge

MOST_CARS = 60  # of one walk; a longer row is two walks
NO_CARS = "Send the cars of the row, each once, at most 60."
GONE = "A car of this row is not here any more, or not yours to work on: open the row afresh."


@dataclass(frozen=True)
class Claim:
    """Who sends a row, under which key, and when they say that they walked it."""

    access: Access
    key: str
    now: datetime
    done_at: datetime
    units: str
    claim_skew_s: int = 0
    seen: datetime | None = None


def take_row(
    claim: Claim, fields: QueryDict, files: "MultiValueDict[str, Any]"
) -> tuple[list[LineForm], Walked]:
    """Log a row as it was sent. Forms at fault are not logged: they stand in the answer with their faults.

    ValidationError where it says no row at all.
    """
    work, pks = WORKS.get(fields.get("work", "")), fields.getlist("cars")
    if work is None or not 0 < len(set(pks)) == len(pks) <= MOST_CARS or not all(map(_is_key, pks)):
        raise ValidationError(NO_CARS)
    cars = cars_of(claim.access, map(int, pks))
    if len(cars) < len(pks):
        raise ValidationError(GONE)
    units = edge(claim.units)
    forms = [LineForm(fields, files, car=car, work=work, edge=units) for car in cars]
    walk = Walk(
        work=work,
        by=claim.access.person,
        key=claim.key,
        now=claim.now,
        done_at=claim.done_at,
        claim_skew_s=claim.claim_skew_s,
        seen=claim.seen,
    )
    return forms, log_walk(walk, [form.line() for form in forms if form.is_valid()])


def _is_key(text: str) -> bool:
    return text.isdecimal() and len(text) < 18


def faults_of(forms: list[LineForm], walked: Walked) -> list[str]:
    """What was not logged and why, a line a car."""
    return [f"{form.car}: {form.faults()}" for form in forms if form.errors] + [
        f"{car}: {why}" for car, why in walked.refused
    ]


def told(walked: Walked) -> str:
    """What was logged, in words."""
    parts = [f"{len(walked.logged)} logged"]
    if walked.left_out:
        parts.append(f"{len(walked.left_out)} left out")
    return ", ".join(parts)


@needs(WORK)
def walk(request: AccessRequest, pk: int) -> HttpResponse:
    """A row of bays, or what is to be charged in a building, with room for each car's exceptions."""
    building = get_object_or_404(request.access.buildings().select_related("site"), pk=pk)
    work = WORKS.get(request.GET.get("work", "inspect"))
    if work is None:
        raise Http404
    timezone.activate(ZoneInfo(building.site.time_zone))  # until the view returns: see collection.permissions
    rows = [each for each in rows_at(request.access, building.site) if each.building == building]
    first = rows[0].name if rows else ""
    row = None if work.asked_only else request.GET.get("row", first)
    if request.method == "POST":
        taken = _posted(request, building)
        if taken is not None:
            return taken
    return render(request, "round/worksheet/walk.html", _page(request, building, rows, row, work))


def _posted(request: AccessRequest, building: Building) -> HttpResponse | None:
    """Without the phone's queue: what was sent is logged; None shows the row again."""
    now = timezone.now()
    claim = Claim(
        access=request.access,
        key=request.POST.get("key", "")[:40] or str(uuid4()),
        now=now,
        done_at=now,
        units=request.access.person.units,
        seen=seen_of(request),
    )
    try:
        forms, walked = take_row(claim, request.POST, request.FILES)
    except ValidationError as fault:
        messages.error(request, " ".join(fault.messages))
        return None
    for words in faults_of(forms, walked):
        messages.error(request, words)
    for clash in walked.clashes:
        messages.warning(request, describe_clash(request.access.person, clash))
    messages.success(request, f"{building}: {told(walked)}.")
    return redirect(f"{reverse('worksheet')}?site={building.site_id}")


def _page(
    request: AccessRequest, building: Building, rows: list[Row], row: str | None, work: Work
) -> dict[str, Any]:
    today, seen = timezone.localdate(), timezone.now()
    here = request.access.vehicles().filter(bay__building=building)
    recompute_stale(request.access, today, here)
    cars, held = walked_past(request.access, building, row, work.duty, today), list[AtBay]()
    if work.asked_only:
        held = [at for at in cars if at.line and at.line.hold]
        cars = [at for at in cars if is_asked(at, today)]
    return {
        "building": building,
        "row": row,
        "rows": rows,
        "work": work,
        "works": list(WORKS.values()),
        "next": _next(rows, row),
        "key": uuid4(),
        "lines": [(at, _form(request, at, work)) for at in cars[:MOST_CARS]],
        "held": held,
        "cautions": cautions_for(work.care, work.duty),
    } | about_page(request, seen)


def _next(rows: list[Row], row: str | None) -> str:
    """The row after this one, as a query; empty after the last."""
    names = [each.name for each in rows]
    after = names[names.index(row) + 1 :] if row in names else []
    return urlencode({"row": after[0]}) if after else ""


def _form(request: AccessRequest, at: AtBay, work: Work) -> LineForm:
    return LineForm(
        None,
        None,
        car=at.vehicle,
        work=work,
        edge=edge(request.access.person.units),
        last=at.last,
        meter=meter_of(at.vehicle, timezone.localdate()),
    )
