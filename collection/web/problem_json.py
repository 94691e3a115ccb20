"""A refusal as problem+json (RFC 9457)."""

from collections.abc import Mapping, Sequence
from http import HTTPStatus

from django.http import HttpRequest, HttpResponse, JsonResponse

MEDIA_TYPE = "application/problem+json"


# status → title, and what it means for whoever reads the reference
KINDS: dict[int, tuple[str, str]] = {
    400: ("The request cannot be read", "The body is no JSON, or not in UTF-8."),
    401: ("No valid token", "Send “Authorization: Bearer …” with a token that has not ended."),
    403: ("Not allowed", "The token lacks the scope, or its holder's role does not allow this."),
    404: ("Not found", "There is no such thing, or it is out of this token's reach."),
    405: ("No such method", "The address exists, the method does not."),
    406: ("No such form", "The answer is JSON (or the bytes of a file), which ``Accept`` does not allow."),
    409: ("Something was quicker", "Another request changed the same thing: read again, then send again."),
    413: ("Too large", "The body is larger than 2.5 MB."),
    412: ("Not as it was", "What ``If-Match`` or ``If-Unmodified-Since`` asks for is no longer so."),
    415: ("No JSON", "Send the body as ``Content-Type: application/json``."),
    422: ("Not accepted", "A field is at fault; ``errors`` names each one and the fix. Nothing was stored."),
    429: ("Too many requests", "Wait for as many seconds as ``Retry-After`` says."),
    500: ("The site failed", "Nothing was stored. Send it again later, with the same key."),
    503: (
        "Not now",
        "Nothing was stored. Wait as ``Retry-After`` says, then send it again with the same key.",
    ),
    507: (
        "No room",
        "The disk is full. Nothing was stored. Send it again once there is room, with the same key.",
    ),
}
API = "/api/v1/"


def is_for_api(request: HttpRequest) -> bool:
    """Whether a programme asks, which is told in this form whatever is the matter."""
    return request.path.startswith(API)


def problem(status: int, detail: str = "", errors: Sequence[Mapping[str, str]] = ()) -> HttpResponse:
    """The answer."""
    title, meaning = KINDS.get(status, (HTTPStatus(status).phrase, ""))
    body = {
        "type": f"/api/docs/#problem-{status}",
        "title": title,
        "status": status,
        "detail": detail or meaning,
        "errors": list(errors),
    }
    answer = JsonResponse(body, status=status, content_type=MEDIA_TYPE)
    if status == HTTPStatus.UNAUTHORIZED:
        answer.headers["WWW-Authenticate"] = 'Bearer realm="Longstand"'
    return answer
