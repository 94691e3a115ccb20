"""Keying in the paper worksheet: car by car, with the keyboard only."""

from datetime import date
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from collection.care.clash_words import describe_clash
from collection.care.forms.base import AtTheCar
from collection.care.queries.care import free_bays, last_values, open_tags
from collection.care.views.log_forms import Claim, log_together, seen_of
from collection.life.duties import lines_of, standing_at
from collection.life.refresh import recompute_stale
from collection.models import Clash, Site, Vehicle
from collection.permissions import WORK, AccessRequest, needs
from collection.places.sites import chosen_site
from collection.round.forms.key_in import Row, WalkForm
from collection.round.queries.weeks import Stop
from collection.round.views.paper import sheet_of, to_walk
from collection.web.units import edge

CARRIED = ("site", "from", "on", "walked")  # said once, for the whole paper


@needs(WORK)
def from_paper(request: AccessRequest) -> HttpResponse:
    """The cars of the paper that still have open tasks; a number or a bay opens its car."""
    site, today = _begin(request)
    sheet = sheet_of(request, site, today)
    stops = to_walk(sheet)
    wanted = request.GET.get("go", "").strip()
    if wanted:
        stop = next((stop for stop in stops if _answers_to(stop, wanted)), None)
        if stop:
            return redirect(_address(request, stop))
        messages.error(request, f"{wanted}: no car with open tasks has this number, bay or registration.")
    walk = WalkForm(initial=_walk_so_far(request, today), today=today)
    context = {"site": site, "sheet": sheet, "stops": stops, "walk": walk, "carried": _query(request)}
    return render(request, "round/worksheet/from_paper.html", context)


def _begin(request: AccessRequest) -> tuple[Site, date]:
    site = chosen_site(request)
    if site is None:
        raise Http404
    timezone.activate(ZoneInfo(site.time_zone))  # until the view returns: see collection.permissions.needs
    today = timezone.localdate()
    recompute_stale(request.access, today, request.access.vehicles().filter(standing_at(site)))
    return site, today


def _answers_to(stop: Stop, wanted: str) -> bool:
    """The number on the paper, the bay as painted, or the registration; capitals and blanks do not matter."""
    car = stop.vehicle
    names = (str(car.pk), car.bay.label if car.bay else "", car.registration)
    return "".join(wanted.split()).lower() in {"".join(name.split()).lower() for name in names if name}


def _walk_so_far(request: AccessRequest, today: date) -> dict[str, str]:
    return {"on": request.GET.get("on") or today.isoformat(), "walked": request.GET.get("walked", "")}


def _query(request: AccessRequest, **changed: str) -> str:
    kept = {name: request.GET[name] for name in CARRIED if request.GET.get(name)} | changed
    return urlencode(kept)


def _address(request: AccessRequest, stop: Stop, **changed: str) -> str:
    return f"{reverse('from_paper_car', args=[stop.vehicle.pk])}?{_query(request, **changed)}"


@needs(WORK)
def from_paper_car(request: AccessRequest, pk: int) -> HttpResponse:
    """One car's rows; saved together, then the next car."""
    vehicle = request.access.vehicle(pk)
    site, today = _begin(request)
    seen, sent = timezone.now(), request.POST if request.method == "POST" else None
    stops = to_walk(sheet_of(request, site, today))
    at = next((place for place, stop in enumerate(stops) if stop.vehicle.pk == pk), None)
    duties = sent.getlist("duty") if sent is not None else _open(stops[at]) if at is not None else []
    if not duties:
        messages.info(request, "That car has nothing open on this paper.")
        return redirect(f"{reverse('from_paper')}?{_query(request)}")
    walk = WalkForm(sent, initial=_walk_so_far(request, today), today=today)
    rows = _rows(request, vehicle, duties, today, sent)
    onward = stops[at + 1] if at is not None and at + 1 < len(stops) else None
    if sent is not None and walk.is_valid() and _keyed_in(request, walk, rows):
        carried = {"on": walk.cleaned_data["on"].isoformat(), "walked": walk.cleaned_data["walked"]}
        if onward:
            return redirect(_address(request, onward, **carried))
        return redirect(f"{reverse('from_paper')}?{_query(request, **carried)}")
    context = {
        "site": site,
        "car": vehicle,
        "tags": open_tags([vehicle]),
        "rows": rows,
        "walk": walk,
        "seen": request.POST.get("seen", seen.isoformat()),
        "count": len(stops),
        "carried": _query(request),
        "onward": _address(request, onward) if onward else "",
    }
    return render(request, "round/worksheet/from_paper_car.html", context)


def _open(stop: Stop) -> list[str]:
    return [task.line.duty for task in stop.tasks if not task.optional]


def _rows(
    request: AccessRequest, vehicle: Vehicle, duties: list[str], today: date, sent: QueryDict | None
) -> list[Row]:
    """A row for each task that the page showed, open still or not: what was typed is never passed over."""
    bays = list(free_bays(request.access.bays(), vehicle))
    person_edge, now, last = edge(request.access.person.units), timezone.now(), last_values(vehicle)
    return [
        Row(
            line,
            AtTheCar(
                vehicle=vehicle, edge=person_edge, now=now, last=last, bays=bays, duty=line.duty, short=True
            ),
            sent,
        )
        for line in lines_of(vehicle, today)
        if line.duty in duties
    ]


def _keyed_in(request: AccessRequest, walk: WalkForm, rows: list[Row]) -> bool:
    """Whether all that was typed is logged; else each form says what to mend and nothing is."""
    forms = [row.to_log() for row in rows]
    typed = [form for form in forms if form is not None]
    if any([not row.result.is_valid() for row in rows] + [not form.is_valid() for form in typed]):
        return False
    now = timezone.now()
    claim = Claim(
        by=request.access.person,
        now=now,
        done_at=walk.done_at(timezone.get_current_timezone(), now),
        seen=seen_of(request),
        note=walk.note(),
    )
    logged = log_together(typed, claim)
    if logged is None:
        return False
    for each in logged:
        if isinstance(each, Clash):
            messages.warning(request, describe_clash(request.access.person, each))
    if len(logged):
        messages.success(request, f"{len(logged)} entered for {rows[0].form.car.vehicle}.")
    return True
