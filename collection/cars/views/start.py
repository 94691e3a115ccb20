"""A quick start: where the cars stand, then which they are."""

from collections.abc import Sequence

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from collection.care.actions.floor import floor_of
from collection.care.actions.record import Edit
from collection.cars.actions.start import add_cars, open_place
from collection.cars.forms.start import MINE, CarRow, PlaceForm, WhereForm, sole_owner
from collection.cars.pasted import cars_pasted, days_of, is_iso
from collection.models import Basis, Owner, Vehicle
from collection.permissions import MANAGE, AccessRequest, needs
from collection.web.form_faults import saved

ROWS, MOST_ROWS = 8, 64  # of cars on a page; more in a row come from a spreadsheet


@needs(MANAGE)
def start(request: AccessRequest) -> HttpResponse:
    """Where the cars stand, and whose they are; asked while nothing is written down."""
    access = request.access
    if access.sites().exists():
        return redirect("start_cars")
    form = PlaceForm(
        request.POST if request.method == "POST" else None, climates=access.climates().order_by("pk")
    )

    def save() -> None:
        building = form.place(access.organisation)
        owner = access.person if form.cleaned_data["whose"] == MINE else None
        edit = Edit(access.person, timezone.now())
        today = timezone.localdate()
        open_place(site=building.site, building=building, owner=owner, edit=edit, today=today)

    if request.method == "POST" and saved([form], save):
        return redirect("start_cars")
    return render(request, "cars/start/place.html", {"form": form})


@needs(MANAGE)
def start_cars(request: AccessRequest) -> HttpResponse:
    """Several cars at once, a line each."""
    access = request.access
    buildings = access.buildings().select_related("site").order_by("site__name", "walk_order", "name")
    if not buildings.exists():
        return redirect("start" if not access.sites().exists() else "places")
    owner = None if "owners" in request.GET else sole_owner(access.owners())
    text = request.POST.get("pasted", "")
    in_list = cars_pasted(text, MOST_ROWS, request.POST.get("order", ""))
    pasted = in_list.lines
    is_sent = request.method == "POST" and not {"more", "paste"} & request.POST.keys()
    count = max(_count(request), len(pasted))
    where = WhereForm(request.POST if is_sent else None, initial=_kept(request, ""), buildings=buildings)
    rows = [
        CarRow(
            request.POST if is_sent else None,
            initial=pasted[number - 1] if number <= len(pasted) else _kept(request, f"{number}-"),
            prefix=str(number),
            several=owner is None,
        )
        for number in range(1, count + 1)
    ]
    if is_sent:
        filled = [row for row in rows if not row.is_empty]
        if not filled:
            where.add_error(None, "Write down one car at least.")
        elif saved([where, *filled], lambda: _save(request, where, filled, owner)):
            cars = f"{len(filled)} car{'s' * (len(filled) > 1)}"
            messages.success(request, f"{cars} written down. What is usual for its kind is assumed.")
            return redirect("collection")
    shown = {
        "where": where,
        "rows": rows,
        "is_first": not access.vehicles().exists(),
        "count": count,
        "may_have_more": count < MOST_ROWS,
        "is_sent": is_sent,
        "owner": owner,
        "owners": access.owners(),
        "pasted": len(pasted),
        "is_pasted": "paste" in request.POST,
        "left_out": in_list.left_out,
        "too_many": in_list.too_many,
        "text": text,
        "both_ways": in_list.both_ways,
        "orders": days_of(in_list.both_ways).items(),
        "unread": sum(not is_iso(line["driven_on"]) for line in pasted if "driven_on" in line),
    }
    return render(request, "cars/start/cars.html", shown)


def _save(request: AccessRequest, where: WhereForm, rows: Sequence[CarRow], owner: Owner | None) -> None:
    access, today = request.access, timezone.localdate()
    bay, regime = floor_of(where.cleaned_data["building"]), where.cleaned_data["regime"]
    cars = []
    for row in rows:
        vehicle = Vehicle(organisation=access.organisation, bay=bay, regime=regime)
        if owner:
            vehicle.owner = owner
        cars.append(row.facts(vehicle))
    add_cars(cars=cars, edit=Edit(access.person, timezone.now(), basis=Basis.OWNER), today=today)


def _count(request: AccessRequest) -> int:
    """How many lines the page has: so many more where they were asked for."""
    sent = request.POST.get("lines", "")
    lines = int(sent) if sent.isdecimal() and len(sent) <= len(str(MOST_ROWS)) else ROWS
    return max(ROWS, min(lines + ROWS * ("more" in request.POST), MOST_ROWS))


def _kept(request: AccessRequest, start: str) -> dict[str, str]:
    """What was written already on a page that is shown again with more lines."""
    return {
        name.removeprefix(start): str(value) for name, value in request.POST.items() if name.startswith(start)
    }
