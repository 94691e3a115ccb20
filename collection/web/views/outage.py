"""The answer when something broke, without the database: what an outage is, and what was typed, kept."""

import logging
import sys
from functools import cache
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template.loader import render_to_string
from django.views.decorators.csrf import requires_csrf_token
from django.views.defaults import server_error

from collection.host.outage import Outage, outage_of
from collection.web.logs.paths import shown_path
from collection.web.problem_json import is_for_api, problem

AGAIN_AFTER_S = 30  # also how often the phone's queue tries
MOST_KEPT = 200_000  # characters typed that the page carries on

log = logging.getLogger(__name__)


@requires_csrf_token
def broken(request: HttpRequest) -> HttpResponse:
    """handler500: an outage in plain words, by JSON where JSON came; else that the fault is ours."""
    outage = outage_of(sys.exc_info()[1])
    if outage is None:
        return server_error(request)
    log.error("%s %s: %s", request.method, shown_path(request), outage.log)
    return refusal(request, outage)


def refusal(request: HttpRequest, outage: Outage, again_after_s: int = AGAIN_AFTER_S) -> HttpResponse:
    """What an outage is, in the form that fits who asked; asks no database."""
    answer = _in_their_form(request, outage)
    answer.headers["Retry-After"] = str(again_after_s)
    answer.headers["Cache-Control"] = "no-store"
    return answer


def _in_their_form(request: HttpRequest, outage: Outage) -> HttpResponse:
    if is_for_api(request):
        return problem(outage.status, f"{outage.title}. {outage.says}")
    if request.content_type == "application/json" or request.accepts("text/html") is False:
        return JsonResponse({"says": f"{outage.title}. {outage.says}"}, status=outage.status)
    page = _with_what_was_typed(request, outage) if request.method == "POST" else _plain(outage)
    return HttpResponse(page, status=outage.status)


@cache
def _plain(outage: Outage) -> str:
    """The page for whoever only asked: the same for each, so that it costs nothing where many are refused."""
    return render_to_string("503.html", {"outage": outage})


def _with_what_was_typed(request: HttpRequest, outage: Outage) -> str:
    return render_to_string("503.html", {"outage": outage, **_typed(request)})


def _typed(request: HttpRequest) -> dict[str, Any]:
    """What was sent, to be sent again as it is; its key sees to it that it is stored once."""
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
