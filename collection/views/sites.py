"""Which site a page is about."""

from django.http import Http404
from django.shortcuts import get_object_or_404

from collection.models import Site
from collection.permissions import AccessRequest


def chosen_site(request: AccessRequest) -> Site | None:
    """The site asked for by ?site=, else the first in reach; None before there is one."""
    wanted = request.GET.get("site", "")
    if not wanted:
        return request.access.sites().first()
    if not wanted.isdecimal():
        raise Http404
    return get_object_or_404(request.access.sites(), pk=wanted)
