"""Staff and equipment of one site: everything that its plan has to work with, on one page."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.forms import BaseForm
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from collection.models import Site, Weekday
from collection.permissions import MANAGE, AccessRequest, needs
from collection.round.actions import staff as act
from collection.round.forms import staff as ask
from collection.round.queries import staff as query
from collection.web.form_faults import saved
from collection.web.units import edge

MOST_DIGITS = 10
Forms = dict[str, list[Any]]


@needs(MANAGE)
def staff(request: AccessRequest, pk: int) -> HttpResponse:
    """Hours, opening, equipment, days off, ways; each part is saved by itself."""
    site = get_object_or_404(request.access.sites().select_related("organisation"), pk=pk)
    if request.method == "POST" and "remove" in request.POST:
        what, _, key = request.POST["remove"].partition("-")
        act.remove(site=site, what=what, pk=int(key) if key.isdecimal() and len(key) < MOST_DIGITS else 0)
        return _done(request, site, what)
    part = request.POST.get("part", "") if request.method == "POST" else ""
    forms = _forms(request, site, part)
    if part in forms and saved(forms[part], _acts(site, forms[part])[part]):
        return _done(request, site, part)
    return render(request, "round/staff/staff.html", _page(site) | {"forms": forms, "sent": part})


def _done(request: AccessRequest, site: Site, part: str) -> HttpResponse:
    messages.success(request, "Saved. The plan is worked out anew when the week is opened.")
    return redirect(f"{reverse('staff', args=[site.pk])}#{part if part.isalpha() else ''}")


def _page(site: Site) -> dict[str, Any]:
    today = timezone.localdate()
    return {
        "site": site,
        "today": today,
        "holidays": query.holidays(site, today),
        "others": query.other_hours(site, today),
        "storms": query.storm_days(site, today),
        "ways": query.ways(site),
        "several": query.buildings(site).count() > 1,
        "own_hours": site.opening_hours.exists(),
    }


def _forms(request: AccessRequest, site: Site, part: str) -> Forms:
    """Every part's forms; what was sent goes to the part that it belongs to."""

    def sent(name: str) -> QueryDict | None:
        return request.POST if part == name else None

    people = query.workers(site.organisation)
    known = {hand.person_id: hand for hand in query.hands_of(site)}
    opening = query.opening_of(site)
    counts = dict(site.equipment.values_list("kind", "count"))
    units = edge(request.access.person.units)
    return {
        "hand": [ask.HandForm(sent("hand"), person=one, hand=known.get(one.pk)) for one in people],
        "open": [ask.OpeningForm(sent("open"), weekday=day, known=opening.get(day)) for day in Weekday],
        "equipment": [ask.EquipmentForm(sent("equipment"), site=site, counts=counts, edge=units)],
        "holiday": [ask.HolidayForm(sent("holiday"), prefix="holiday")],
        "other": [ask.OtherHoursForm(sent("other"), people=people)],
        "storm": [ask.StormForm(sent("storm"), prefix="storm")],
        "way": [ask.WayForm(sent("way"), buildings=query.buildings(site))],
    }


def _acts(site: Site, forms: list[Any]) -> dict[str, Callable[[], None]]:
    """What each part's button does with its forms, once they are good."""

    def typed() -> dict[str, Any]:
        one: BaseForm = forms[0]
        return one.cleaned_data

    return {
        "hand": lambda: act.save_hands(
            site=site,
            weeks=[act.UsualWeek(f.person, f.minutes(), f.cleaned_data["may"]) for f in forms],
        ),
        "open": lambda: act.save_opening(site=site, hours={int(f.weekday): f.hours() for f in forms}),
        "equipment": lambda: act.save_equipment(
            site=site, counts=forms[0].counts(), coldest_yard_c=typed()["coldest_yard_c"]
        ),
        "holiday": lambda: act.add_holiday(site=site, **typed()),
        "other": lambda: act.add_other_hours(site=site, **typed()),
        "storm": lambda: act.add_storm(site=site, **typed()),
        "way": lambda: act.add_way(**typed()),
    }
