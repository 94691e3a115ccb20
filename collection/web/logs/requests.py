"""One line a request: who in which organisation, what address, what came of it, how long it took."""

import logging
import re
import secrets
import time
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from collection.web.logs.lines import current, facts
from collection.web.logs.paths import shown_path

log = logging.getLogger("longstand.access")

HEADER = "X-Request-ID"
GIVEN = re.compile(r"[A-Za-z0-9._-]{8,64}")
QUIET = {"health"}  # asked every few seconds by a proxy


class RequestLog:
    """The outermost layer: gives each request its identifier, and writes it down when it is answered."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, name the request in the answer's header, write the line."""
        number = request.headers.get(HEADER, "")
        name = number if GIVEN.fullmatch(number) else secrets.token_hex(8)
        token, began = current.set(name), time.monotonic()
        try:
            response = self.get_response(request)
            response.headers[HEADER] = name
            _write(request, response.status_code, time.monotonic() - began)
        finally:
            current.reset(token)
        return response


def _write(request: HttpRequest, status: int, seconds: float) -> None:
    access = getattr(request, "access", None)
    match = request.resolver_match
    quiet = status < 400 and (match is None or match.view_name in QUIET)
    log.log(
        logging.DEBUG if quiet else logging.WARNING if status >= 500 else logging.INFO,
        "request",
        extra=facts(
            organisation=access.organisation.pk if access else None,
            person=access.person.pk if access else None,
            method=request.method,
            path=shown_path(request),
            status=status,
            ms=round(seconds * 1000),
        ),
    )
