"""The answer when something broke, without the database: what an outage is, and what was typed, kept."""

import logging
import sys
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template.loader import render_to_string
from django.views.decorators.csrf import requires_csrf_token
from django.views.defaults import server_error

from collection.host.outage import Outage, outage_of

AGAIN_AFTER_S = "30"  # also how often the phone's queue tries
MOST_KEPT = 200_000  # characters typed that the page carries on

log = logging.getLogger(__name__)


@requires_csrf_token
def broken(request: HttpRequest) -> HttpResponse:
    """handler500: an outage in plain words, by JSON where JSON came; else that the fault is ours."""
    outage = outage_of(sys.exc_info()[1])
    if outage is None:
        return server_error(request)
    log.error("%s %s: %s", request.method, request.path, outage.log)
    answer = _answer(request, outage)
    answer.headers["Retry-After"] = AGAIN_AFTER_S
    answer.headers["Cache-Control"] = "no-store"
    return answer


def _answer(request: HttpRequest, outage: Outage) -> HttpResponse:
    if request.content_type == "application/json" or request.accepts("text/html") is False:
        return JsonResponse({"says": f"{outage.title}. {outage.says}"}, status=outage.status)
    page = render_to_string("503.html", {"outage": outage, **_typed(request)})
    return HttpResponse(page, status=outage.status)


def _typed(request: HttpRequest) -> dict[str, Any]:
    """What was sent, to be sent again as it is; its key sees to it that it is stored once."""
    if request.method != "POST":
        return {"address": request.get_full_path()}
    try:
        fields, files = list(request.POST.lists()), list(request.FILES)
    except Exception:  # a body that cannot be read a second time
        return {"sent": True}
    secret = any("password" in name or name in ("code", "credential") for name, _ in fields)
    typed = [(name, value) for name, values in fields for value in values]
    if not typed or secret or sum(len(name) + len(str(value)) for name, value in typed) > MOST_KEPT:
        return {"sent": True}
    once = any(name == "key" for name, _ in typed)
    address = request.get_full_path()
    return {"sent": True, "typed": typed, "files": files, "address": address, "once": once}
