"""What is set up once, and one search for all."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from collection.navigation.queries import MOST, find, recent
from collection.navigation.tasks import setup_of
from collection.permissions import SEE_CARS, AccessRequest, needs

LONGEST = 80  # letters of a search


@require_safe
@needs(SEE_CARS)
def setup(request: AccessRequest) -> HttpResponse:
    """What is used once a year, in groups, each with a line."""
    return render(request, "navigation/setup.html", {"groups": setup_of(request.access)})


@require_safe
@needs(SEE_CARS)
def search(request: AccessRequest) -> HttpResponse:
    """Whatever holds every word, sort by sort."""
    text = " ".join(request.GET.get("q", "")[:LONGEST].split())
    context = {
        "text": text,
        "matches": find(request.access, text) if text else None,
        "recent": [] if text else recent(request.access),
        "most": MOST,
    }
    return render(request, "navigation/found.html", context)
