"""The state of the installation: one word for proxies, a page for managers."""

from django.core.exceptions import ImproperlyConfigured
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.operations.queries import installation as query
from collection.operations.queries import operations
from collection.permissions import MANAGE, AccessRequest, needs


@require_safe
def health(_request: HttpRequest) -> HttpResponse:
    """Whether this process can serve: "ok", or 503 with a word why not. For anybody, so it says no more."""
    try:
        words = "the database waits for its upgrade" if operations.pending_migrations() else ""
    except (DatabaseError, ImproperlyConfigured):
        words = "the database does not answer"
    headers = {"Cache-Control": "no-store"}
    status = 503 if words else 200
    return HttpResponse(f"{words or 'ok'}\n", content_type="text/plain", status=status, headers=headers)


@needs(MANAGE)
@require_safe
def installation(request: AccessRequest) -> HttpResponse:
    """Version, database, worker, backups, disk and clock, in words."""
    return render(request, "operations/installation.html", {"state": query.state(timezone.now())})
