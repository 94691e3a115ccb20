"""Every refusal as problem+json (RFC 9457), naming the field and the fix."""

import logging
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from django.core.exceptions import PermissionDenied, RequestDataTooBig, ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from ninja import Field, Schema
from ninja.errors import AuthenticationError, HttpError
from ninja.errors import ValidationError as NotAsDescribed

from collection.host.outage import outage_of
from collection.models import Quantity
from collection.web.logs.paths import shown_path
from collection.web.problem_json import problem
from collection.web.views.outage import refusal

log = logging.getLogger(__name__)
ENTRY = "entry"  # the parameter whose shape hangs on its kind


class Fault(Schema):
    """One field at fault."""

    field: str = Field(
        description="Where in the request; empty where it is the whole.", examples=["details.hours"]
    )
    detail: str = Field(description="What is wrong and how to mend it.", examples=["give 0 to 500 h."])


class Problem(Schema):
    """What went wrong, by RFC 9457."""

    type: str = Field(
        description="A page that explains this kind of problem.", examples=["/api/docs/#problem-422"]
    )
    title: str = Field(examples=["Not accepted"])
    status: int = Field(examples=[422])
    detail: str = Field(examples=["On charge for: 900 is out of range: give 0 to 500 h."])
    errors: list[Fault] = Field(default=[], description="Each field at fault.")


class TooOften(Exception):
    """The token's share of the minute is used up."""

    def __init__(self, wait_seconds: int) -> None:
        self.wait_seconds = wait_seconds
        super().__init__(wait_seconds)


def unauthorised(_request: HttpRequest, _fault: AuthenticationError) -> HttpResponse:
    """No token, or one that has ended."""
    return problem(401)


def http_error(_request: HttpRequest, fault: HttpError) -> HttpResponse:
    """What the framework or the protocol refuses: a body that is no JSON, a type that is none of ours."""
    return problem(fault.status_code)


def not_found(_request: HttpRequest, _fault: Http404) -> HttpResponse:
    """Out of reach looks like not there."""
    return problem(404)


def not_allowed(_request: HttpRequest, fault: PermissionDenied) -> HttpResponse:
    """The role or the scope does not allow it."""
    return problem(403, str(fault))


def too_large(_request: HttpRequest, _fault: RequestDataTooBig) -> HttpResponse:
    """More than settings.DATA_UPLOAD_MAX_MEMORY_SIZE."""
    return problem(413)


def too_often(_request: HttpRequest, fault: TooOften) -> HttpResponse:
    """More than the token's share."""
    answer = problem(429)
    answer.headers["Retry-After"] = str(fault.wait_seconds)
    return answer


def not_as_described(_request: HttpRequest, fault: NotAsDescribed) -> HttpResponse:
    """The request is not of the shape that the reference describes."""
    return _refused([(_place(error["loc"]), f"{error['msg']}.") for error in fault.errors])


def refused(_request: HttpRequest, fault: ValidationError) -> HttpResponse:
    """The log, or another action, did not take it."""
    if not hasattr(fault, "error_dict"):
        return _refused([("", text) for text in fault.messages])
    return _refused([(name, text) for name, texts in fault.message_dict.items() for text in texts])


def failed(request: HttpRequest, fault: Exception) -> HttpResponse:
    """An outage with how long to wait; else a defect of ours, which only the log describes."""
    if outage := outage_of(fault):
        log.error("%s %s: %s", request.method, shown_path(request), outage.log)
        return refusal(request, outage)
    log.exception("the API failed")
    return problem(500)


def _refused(faults: Sequence[tuple[str, str]]) -> HttpResponse:
    words = " ".join(f"{name}: {text}" if name else text for name, text in faults)
    return problem(422, words, [{"field": name, "detail": text} for name, text in faults])


def _place(steps: Sequence[Any]) -> str:
    """``("body", "entry", "run_up", "details", "hours")`` as details.hours: where the sender finds it.

    A step that names the shape that was meant, a kind or a quantity, stands nowhere in what was sent.
    """
    source, *where = steps
    if source == "body":
        where = where[2:] if where[:1] == [ENTRY] else where[1:]
    beside = pairwise([None, *where])
    return ".".join(
        str(step) for before, step in beside if not (isinstance(before, int) and step in Quantity.values)
    )


HANDLERS = {
    AuthenticationError: unauthorised,
    HttpError: http_error,
    Http404: not_found,
    PermissionDenied: not_allowed,
    RequestDataTooBig: too_large,
    TooOften: too_often,
    NotAsDescribed: not_as_described,
    ValidationError: refused,
    Exception: failed,
}
