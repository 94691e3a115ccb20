"""Refuses the NUL character in an address: PostgreSQL stores and compares no text that holds one."""

from collections.abc import Callable
from http import HTTPStatus

from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest

from collection.web.problem_json import is_for_api, problem

SAYS = "This address holds a character that none of ours has: type it again, or go back."


class NoNul:
    """Forms refuse it field by field; what is read from the address itself is refused here."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer 400, to a programme 422 in its own form, or go on."""
        if "\0" in request.path or "%00" in request.META.get("QUERY_STRING", ""):
            if is_for_api(request):
                return problem(HTTPStatus.UNPROCESSABLE_ENTITY, SAYS)
            return HttpResponseBadRequest(SAYS, content_type="text/plain")
        return self.get_response(request)
