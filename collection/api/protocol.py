"""What HTTP asks of every answer: refusals in one form, an ETag on what is read, links to pages of a list."""

from collections.abc import Callable, Iterable, Mapping
from functools import wraps
from http import HTTPStatus
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils.cache import get_conditional_response, patch_vary_headers, set_response_etag
from ninja.errors import HttpError

from collection.web.problem_json import MEDIA_TYPE, problem

View = Callable[..., HttpResponse]
JSON = "application/json"


def keep_protocol(view: View) -> View:
    """The view of one address as HTTP has it.

    What is read carries an ETag, and is answered 304 where ``If-None-Match`` names it (RFC 9110, 13.1.2).
    A refusal in another form, such as that of a method, becomes problem+json (RFC 9457).
    """

    @wraps(view)
    def respond(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        response = view(request, *args, **kwargs)
        if request.method == "GET" and response.status_code == HTTPStatus.OK:
            response = _conditional(request, response)
        if response.status_code >= HTTPStatus.BAD_REQUEST and response["Content-Type"] != MEDIA_TYPE:
            response = _as_problem(response)
        elif links := getattr(request, "page_links", ""):
            response.headers["Link"] = links
        patch_vary_headers(response, ("Accept", "Authorization"))
        return response

    return respond


def _conditional(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    set_response_etag(response)
    return get_conditional_response(request, etag=response["ETag"], response=response) or response


def _as_problem(response: HttpResponse) -> HttpResponse:
    refusal = problem(response.status_code)
    if "Allow" in response.headers:
        refusal.headers["Allow"] = response.headers["Allow"]
    return refusal


def check_sent_as_json(request: HttpRequest) -> None:
    """HttpError 415 for a body of another type."""
    if request.body and request.content_type != JSON:
        raise HttpError(HTTPStatus.UNSUPPORTED_MEDIA_TYPE, "")


def check_accepts(request: HttpRequest, media: Iterable[str]) -> None:
    """HttpError 406 where none of the types in which an operation answers is accepted."""
    asked = request.headers.get("Accept", "").strip()
    if asked and not any(request.accepts(kind) for kind in media):
        raise HttpError(HTTPStatus.NOT_ACCEPTABLE, "")


def page_links(request: HttpRequest, page: Mapping[str, Any]) -> str:
    """The pages before and after a page of a list, with the same filters, as a Link header (RFC 8288)."""
    limit, offset, total = page["limit"], page["offset"], page["total"]
    last = max(total - 1, 0) // limit * limit
    starts = {"first": 0, "last": last}
    if offset > 0:
        starts["prev"] = max(min(offset, last + limit) - limit, 0)
    if offset + limit < total:
        starts["next"] = offset + limit
    return ", ".join(
        f'<{_address(request, limit, start)}>; rel="{relation}"' for relation, start in starts.items()
    )


def _address(request: HttpRequest, limit: int, offset: int) -> str:
    asked = request.GET.copy()
    asked["limit"], asked["offset"] = str(limit), str(offset)
    return request.build_absolute_uri(f"{request.path}?{asked.urlencode()}")
