"""An address as a log may show it: without what may be a secret.

So an address may name what nobody else may read only in a part of type ``str``: those are hidden.
"""

import re

from django.conf import settings
from django.http import HttpRequest

PART = re.compile(r"<(?:(\w+):)?(\w+)>")


TOLD = {"int", "uuid", "slug"}  # parts of an address that are no secret; a token is a "str"


HIDDEN = "…"


def shown_path(request: HttpRequest) -> str:
    """The address with every part hidden that may be a secret; never the query."""
    match = request.resolver_match
    if match is None or match.route is None:
        return request.path if request.path.startswith(settings.STATIC_URL) else f"/{_first(request)}{HIDDEN}"

    def part(field: re.Match[str]) -> str:
        shown = field[1] in TOLD and field[2] in match.kwargs
        return str(match.kwargs[field[2]]) if shown else HIDDEN

    return "/" + PART.sub(part, match.route)


def _first(request: HttpRequest) -> str:
    """Of an address that we do not have, as much as shows what was looked for."""
    return re.sub(r"[^\w.-]", "", request.path.strip("/").split("/")[0])[:12]
