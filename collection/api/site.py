"""The API as a whole: its nouns, its refusals, its description."""

from functools import cache
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_safe
from ninja import NinjaAPI
from ninja.openapi.schema import OpenAPISchema

from collection.api import (
    care_write,
    cars,
    duties,
    history,
    people,
    places,
    recommissioning,
    rules,
    webhooks,
    week,
)
from collection.api.description import describe
from collection.api.problems import HANDLERS
from collection.api.protocol import check_sent_as_json
from collection.web.problem_json import problem

ABOUT = """Read everything that the pages show, write the care log, get a message when dates change.

Ask with a token: `Authorization: Bearer …`. A member makes one for themselves under *You*, *Tokens*; it
may do what its scopes say, within what the member's role allows at that moment. A session's cookie opens
nothing here.

Values are in SI units with the unit in the name; moments are answered in UTC and taken with any offset
(RFC 3339); days are those of the place. Lists give `total`, take `limit` and `offset`, and link their pages
in the header `Link` (RFC 8288). What is read carries an `ETag`: send it back as `If-None-Match`, and nothing
is sent again as long as it holds. Every write needs an `Idempotency-Key`. A refusal is
`application/problem+json` (RFC 9457). 300 requests a minute a token.
"""
ROUTERS = (people, places, cars, duties, week, care_write, history, recommissioning, rules, webhooks)


class Api(NinjaAPI):
    """Takes and gives JSON."""

    def create_temporal_response(self, request: HttpRequest) -> HttpResponse:
        """Called once a token was let in, before anything else of the request is read."""
        check_sent_as_json(request)
        return super().create_temporal_response(request)


api = Api(
    title="Longstand", version="1", description=ABOUT, docs_url=None, openapi_url=None, urls_namespace="api"
)
for noun in ROUTERS:
    api.add_router("", noun.router)
for kind, handler in HANDLERS.items():
    api.add_exception_handler(kind, handler)  # type: ignore[arg-type]  # each takes its own kind


@cache
def schema() -> dict[str, Any]:
    """The description of every operation, OpenAPI 3.1; made once, since code does not change as it runs."""
    made: OpenAPISchema = api.get_openapi_schema()
    return describe(dict(made))


@require_safe
def openapi(_request: HttpRequest) -> HttpResponse:
    """The description for programmes; it says nothing of anybody."""
    return JsonResponse(schema(), json_dumps_params={"ensure_ascii": False})


@csrf_exempt  # nothing is done here, and a cookie would open nothing
def unknown(_request: HttpRequest, **_rest: Any) -> HttpResponse:
    """An address that is none."""
    return problem(404)
