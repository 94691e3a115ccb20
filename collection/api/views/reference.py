"""The reference of the API as a page of ours: nothing is loaded from elsewhere, no script runs."""

import re

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from collection.api.reference import groups, message, problems, shapes
from collection.api.site import ABOUT, schema
from collection.permissions import SCOPES, SEE_CARS, AccessRequest, needs

PLAIN = re.compile(r"[`*]")  # what marks words in the description


@require_safe
@needs(SEE_CARS)
def reference(request: AccessRequest) -> HttpResponse:
    """Every operation with what it takes and gives."""
    made = schema()
    shown = {
        "about": PLAIN.sub("", ABOUT.strip()).split("\n\n"),
        "groups": groups(made),
        "shapes": shapes(made),
        "problems": problems(),
        "message": message(made),
        "scopes": [(scope, words) for scope, (words, _) in SCOPES.items()],
        "root": request.build_absolute_uri("/api/v1"),
    }
    return render(request, "api/reference.html", shown)
