"""What a request may take: a place at the door, and so much time."""

import time
from collections.abc import Callable
from typing import Any

from django.db import connection
from django.http import HttpRequest, HttpResponse

from collection.host.outage import CROWDED, TookTooLong
from collection.web.door import FULL
from collection.web.views.outage import refusal

LONGEST_S = 45.0  # policy: proxies give up after 60
AGAIN_AFTER_S = 5  # policy: the line is empty within a second or two
UNDOING = ("ROLLBACK TO", "RELEASE")


class Limits:
    """Refuses what the door found no room for, and ends what takes too long."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer within the limits; over time, the next question to the database is not put any more."""
        if request.META.get(FULL):
            refused = refusal(request, CROWDED, AGAIN_AFTER_S)
            refused._has_been_logged = True  # type: ignore[attr-defined]  # once a request is enough of them
            return refused
        with connection.execute_wrapper(_until(time.monotonic() + LONGEST_S)):
            return self.get_response(request)


def _until(deadline: float) -> Callable[..., Any]:
    """Lets questions pass until then; what undoes passes always."""

    def ask(execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        if time.monotonic() > deadline and not sql.startswith(UNDOING):
            raise TookTooLong
        return execute(sql, params, many, context)

    return ask
