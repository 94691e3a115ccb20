"""Back to the page from which a form was opened."""

from urllib.parse import urlencode

from django.http import HttpRequest
from django.utils.http import url_has_allowed_host_and_scheme


def keep_way_back(request: HttpRequest) -> str:
    """The end of an address that leads on to another form, and from there back; empty where none was."""
    back = way_back(request)
    return f"?{urlencode({'next': back})}" if back else ""


def way_back(request: HttpRequest) -> str:
    """The page of ours that was asked for in ``next``; empty where none was, or one of somebody else."""
    wanted = request.POST.get("next") or request.GET.get("next", "")
    ours = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if ours else ""
