"""Headers that every answer carries beside those of Django and of the content policy."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

# what a page of ours never asks a browser for
POLICY = "camera=(), microphone=(), geolocation=(), payment=(), usb=(), browsing-topics=()"
SCANS = {"worksheet", "worksheet_scan"}  # pages that read labels, and may ask for the camera


class SafeHeaders:
    """Keeps pages out of shared caches, off other sites, and away from what they do not need."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Add what the view did not say itself."""
        response = self.get_response(request)
        response.headers["Permissions-Policy"] = _policy(request)
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        response.headers.setdefault("Cache-Control", "private, no-cache")
        return response


def _policy(request: HttpRequest) -> str:
    if request.resolver_match and request.resolver_match.view_name in SCANS:
        return POLICY.replace("camera=()", "camera=(self)")
    return POLICY
