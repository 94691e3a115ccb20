"""Which of the sites in reach a page is about."""

from django.http import Http404
from django.shortcuts import get_object_or_404

from collection.models import Site
from collection.permissions import AccessRequest

MOST_DIGITS = 10  # longer than any row number


def chosen_site(request: AccessRequest) -> Site | None:
    """The site of ``?site=``, else the first; None before there is one, 404 for one out of reach."""
    wanted = request.GET.get("site", "")
    if not wanted:
        return request.access.sites().first()
    if not wanted.isdecimal() or len(wanted) > MOST_DIGITS:
        raise Http404
    return get_object_or_404(request.access.sites(), pk=wanted)
