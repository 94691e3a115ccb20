"""Addresses of versions before: bookmarks, printed papers and open phones lead on to today's."""

from django.http import HttpRequest, HttpResponsePermanentRedirect
from django.urls import re_path

# what an address began with until 0.2.0, and what it begins with now; the longer first
MOVED = (
    (r"^worksheet/cars/(?P<pk>\d+)/waking/", "/worksheet/cars/{pk}/recommission/"),
    (r"^cars/(?P<pk>\d+)/waking/finds/as/", "/cars/{pk}/recommission/findings/as/"),
    (r"^cars/(?P<pk>\d+)/waking/finds/", "/cars/{pk}/recommission/evidence-rows/"),
    (r"^cars/(?P<pk>\d+)/waking/", "/cars/{pk}/recommission/"),
    (r"^waking-rates/", "/prices/"),
    (r"^week/key-in/", "/week/from-paper/"),
    (r"^places/sites/(?P<pk>\d+)/hands/", "/places/sites/{pk}/staff/"),
    (r"^yard/", "/floor-plan/"),
    (r"^thresholds/", "/limits/"),
    (r"^rates/", "/prices/"),
    (r"^recommission-prices/", "/prices/"),
    (r"^runs/", "/system/"),
    (r"^tables/", "/spreadsheets/"),
)


def lead_on(request: HttpRequest, *, to: str, rest: str, **parts: str) -> HttpResponsePermanentRedirect:
    """The same page under the name that it has now; 308, so that what a form sent is sent again."""
    query = request.META.get("QUERY_STRING", "")
    address = to.format(**parts) + rest + (f"?{query}" if query else "")
    return HttpResponsePermanentRedirect(address, preserve_request=True)


urlpatterns = [re_path(f"{old}(?P<rest>.*)$", lead_on, {"to": new}) for old, new in MOVED]
