"""What makes the worksheet an application on the phone: manifest, service worker, offline page.

They say nothing of anybody, so that they serve without a sign-in.
"""

import json

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.http import require_safe

FOLDER = "collection/worksheet"
ASSETS = (
    "collection/longstand.css",
    "collection/mark.svg",
    "collection/meter.js",
    f"{FOLDER}/worksheet.css",
    f"{FOLDER}/queue.js",
    f"{FOLDER}/queue_list.js",
    f"{FOLDER}/round.js",
    f"{FOLDER}/car.js",
    f"{FOLDER}/timer.js",
    f"{FOLDER}/recommissioning.js",
    f"{FOLDER}/fault_search.js",
    f"{FOLDER}/faults.js",
    f"{FOLDER}/offline.js",
    f"{FOLDER}/register.js",
)
INK, PAPER = "#14566b", "#f8f6f1"  # as in longstand.css


@require_safe
def service_worker(_request: HttpRequest) -> HttpResponse:
    """The script that keeps the worksheet's pages on the phone; anew with each change of an asset."""
    facts = {"assets": [static(name) for name in ASSETS], "offline": reverse("worksheet_offline")}
    script = (
        f"self.FACTS = {json.dumps(facts)};\nimportScripts({json.dumps(static(f'{FOLDER}/keeper.js'))});\n"
    )
    return HttpResponse(script, content_type="text/javascript", headers={"Cache-Control": "no-cache"})


@require_safe
def manifest(_request: HttpRequest) -> HttpResponse:
    """What a phone needs to put the worksheet on its home screen."""
    icons = [
        {"src": static(f"{FOLDER}/icon-{size}.png"), "sizes": f"{size}x{size}", "type": "image/png"}
        for size in (192, 512)
    ]
    facts = {
        "name": "Longstand worksheet",
        "short_name": "Longstand",
        "lang": "en-GB",
        "display": "standalone",
        "id": reverse("worksheet"),
        "start_url": reverse("worksheet"),
        "scope": reverse("worksheet"),
        "background_color": PAPER,
        "theme_color": INK,
        "icons": icons,
    }
    return JsonResponse(facts, content_type="application/manifest+json")


@require_safe
def worksheet_offline(request: HttpRequest) -> HttpResponse:
    """Shown by the phone for a page that it does not hold."""
    return render(request, "round/worksheet/offline.html")
