"""A stored photograph or document, handed out so that a browser runs nothing in it."""

from django.http import HttpResponse
from django.utils.http import content_disposition_header


def stored_file(data: bytes, *, type_: str, name: str) -> HttpResponse:
    """The bytes as they came; to be saved, not shown as a page."""
    response = HttpResponse(data, content_type=type_)
    response["Content-Disposition"] = content_disposition_header(as_attachment=True, filename=name)
    response["Content-Security-Policy"] = "sandbox; default-src 'none'"
    response["Cache-Control"] = "private, max-age=86400, immutable"
    return response
