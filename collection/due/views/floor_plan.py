"""The floor plan: a plan of the bays, for those who move cars."""

from zoneinfo import ZoneInfo

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.due.queries.floor_plan import floor_plan as floor_plan_of
from collection.life.duties import standing_at
from collection.life.refresh import recompute_stale
from collection.permissions import WORK, AccessRequest, needs
from collection.places.sites import chosen_site


@require_safe
@needs(WORK)
def floor_plan(request: AccessRequest) -> HttpResponse:
    """Bays by row with each car's state, its keys and what blocks it; a move is logged from here."""
    site = chosen_site(request)
    if site is None:
        return render(request, "round/week/no_site.html", {"title": "Floor plan"})
    timezone.activate(ZoneInfo(site.time_zone))
    today = timezone.localdate()
    stale = recompute_stale(request.access, today, request.access.vehicles().filter(standing_at(site)))
    shown = floor_plan_of(request.access, site=site, today=today)
    return render(
        request,
        "due/floor_plan/floor_plan.html",
        {
            "site": site,
            "sites": request.access.sites(),
            "floor_plan": shown,
            "stale": stale,
            "today": today,
            "here": f"{request.path}?site={site.pk}",
        },
    )
