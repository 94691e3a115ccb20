"""The yard: a plan of the bays, for those who move cars."""

from zoneinfo import ZoneInfo

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.due.queries.floor_plan import yard as yard_of
from collection.life.duties import standing_at
from collection.life.refresh import make_fresh
from collection.permissions import WORK, AccessRequest, needs
from collection.places.sites import chosen_site


@require_safe
@needs(WORK)
def yard(request: AccessRequest) -> HttpResponse:
    """Bays by row with each car's state, its keys and what blocks it; a move is logged from here."""
    site = chosen_site(request)
    if site is None:
        return render(request, "round/week/no_site.html")
    timezone.activate(ZoneInfo(site.time_zone))
    today = timezone.localdate()
    stale = make_fresh(request.access, today, request.access.vehicles().filter(standing_at(site)))
    shown = yard_of(request.access, site=site, today=today)
    return render(
        request,
        "due/floor_plan/yard.html",
        {
            "site": site,
            "sites": request.access.sites(),
            "yard": shown,
            "stale": stale,
            "today": today,
            "here": f"{request.path}?site={site.pk}",
        },
    )
