"""The floor plan: the bays where they lie, for those who move cars."""

from zoneinfo import ZoneInfo

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.due.floor_drawing import draw
from collection.due.queries.floor_plan import floor_plan as floor_plan_of
from collection.due.way_out import way_out
from collection.life.duties import standing_at
from collection.life.refresh import recompute_stale
from collection.permissions import WORK, AccessRequest, needs
from collection.places.sites import MOST_DIGITS, chosen_site


@require_safe
@needs(WORK)
def floor_plan(request: AccessRequest) -> HttpResponse:
    """A site's buildings drawn with their cars; ``?out=`` names one that is to be got out."""
    site = chosen_site(request)
    if site is None:
        return render(request, "round/week/no_site.html", {"title": "Floor plan"})
    timezone.activate(ZoneInfo(site.time_zone))
    today = timezone.localdate()
    stale = recompute_stale(request.access, today, request.access.vehicles().filter(standing_at(site)))
    shown = floor_plan_of(request.access, site=site, today=today)
    asked = request.GET.get("out", "")
    moves = way_out(shown, int(asked)) if asked.isdecimal() and len(asked) <= MOST_DIGITS else None
    return render(
        request,
        "due/floor_plan/floor_plan.html",
        {
            "site": site,
            "sites": request.access.sites(),
            "floor_plan": shown,
            "drawing": draw(shown, moves.turns if moves else {}),
            "moves": moves,
            "asked": asked,
            "stale": stale,
            "today": today,
            "here": f"{request.path}?site={site.pk}",
        },
    )
