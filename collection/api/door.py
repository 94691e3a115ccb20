"""The way in: a token's bearer, its scope, its holder's role; never a session's cookie."""

from collections.abc import Callable, Sequence
from datetime import date, datetime
from functools import wraps
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest
from django.utils import timezone
from ninja import Router
from ninja.security import HttpBearer

from collection.api.actions.tokens import seconds_to_wait, use_token, used_too_often
from collection.api.problems import TooOften
from collection.api.protocol import JSON, check_accepts, page_links
from collection.api.shapes import Page
from collection.models import ApiToken
from collection.permissions import SCOPES, Access, access_by_token

SCOPE = "x-scope"  # until the description is finished


class ApiRequest(HttpRequest):
    """A request whose bearer was let in: for typing."""

    access: Access
    token: ApiToken
    now: datetime
    today: date  # at the organisation
    page_links: str  # to the pages of a list, once it is read


class Bearer(HttpBearer):
    """Lets a token in that was given a scope, as long as its holder's role allows what the scope needs."""

    def __init__(self, scope: str | None, capability: str | None = None) -> None:
        super().__init__()
        self.scope, self.capability = scope, capability

    def authenticate(self, request: Any, token: str) -> ApiToken | None:
        """The token with its access on the request; PermissionDenied says what is lacking."""
        now = timezone.now()
        row = use_token(secret=token, now=now)
        access = access_by_token(row, now) if row else None
        if row is None or access is None:
            return None
        if used_too_often(row):
            raise TooOften(seconds_to_wait(now))
        if self.scope and not access.holds(self.scope):
            raise PermissionDenied(f"This token was not given the scope {self.scope}: make one that has it.")
        needed = self.capability or (SCOPES[self.scope][1] if self.scope else "")
        if needed and not access.may(needed):
            raise PermissionDenied("The role of the token's holder does not allow this: ask a manager.")
        request.access, request.token, request.now = access, row, now
        request.today = now.astimezone(access.time_zone).date()
        return row


Operation = Callable[..., Any]


def operation(  # noqa: PLR0913 - all that describes one operation; keywords only
    router: Router,
    method: str,
    path: str,
    *,
    scope: str | None,
    response: Any,
    summary: str,
    capability: str | None = None,
    media: Sequence[str] = (JSON,),
    extra: dict[str, Any] | None = None,
) -> Callable[[Operation], Operation]:
    """Publish a function: who may call it, what it answers, in which media types.

    It runs in the organisation's own zone. Where it answers a ``Page``, the pages beside it are linked.
    """
    is_list = isinstance(response, type) and issubclass(response, Page)

    def decorate(function: Operation) -> Operation:
        @wraps(function)
        def run(request: ApiRequest, *args: Any, **kwargs: Any) -> Any:
            check_accepts(request, media)
            with timezone.override(request.access.time_zone):
                answer = function(request, *args, **kwargs)
            if is_list:
                request.page_links = page_links(request, answer)
            return answer

        route = router.api_operation(
            [method],
            path,
            auth=Bearer(scope, capability),
            response=response,
            summary=summary,
            operation_id=function.__name__,
            openapi_extra={SCOPE: scope} | (extra or {}),
        )
        published: Operation = route(run)
        return published

    return decorate
