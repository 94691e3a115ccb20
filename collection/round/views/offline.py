"""What makes the site an application on the phone: manifest, service worker, offline page, the scanner.

The first three say nothing of anybody, so that they serve without a sign-in.
"""

import json

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.http import require_safe

from collection.permissions import WORK, AccessRequest, needs

FOLDER = "collection/worksheet"
ASSETS = (
    "collection/longstand.css",
    "collection/mark.svg",
    "collection/meter.js",
    f"{FOLDER}/worksheet.css",
    f"{FOLDER}/pages.js",
    f"{FOLDER}/sending.js",
    f"{FOLDER}/queue.js",
    f"{FOLDER}/queue_list.js",
    f"{FOLDER}/round.js",
    f"{FOLDER}/jump.js",
    f"{FOLDER}/walk.js",
    f"{FOLDER}/car.js",
    f"{FOLDER}/timer.js",
    f"{FOLDER}/recommissioning.js",
    f"{FOLDER}/fault_search.js",
    f"{FOLDER}/faults.js",
    f"{FOLDER}/offline.js",
    f"{FOLDER}/register.js",
    f"{FOLDER}/scan.js",
    f"{FOLDER}/icon-192.png",
)
INK, PAPER = "#14566b", "#f8f6f1"  # as in longstand.css


@require_safe
def service_worker(_request: HttpRequest) -> HttpResponse:
    """The script that keeps the worksheet's pages on the phone; anew with each change of an asset."""
    facts = {
        "assets": [static(name) for name in ASSETS],
        "offline": reverse("worksheet_offline"),
        "send": reverse("worksheet_entries"),
    }
    parts = [static(f"{FOLDER}/{name}.js") for name in ("pages", "sending", "keeper")]
    script = f"self.FACTS = {json.dumps(facts)};\nimportScripts(...{json.dumps(parts)});\n"
    return HttpResponse(script, content_type="text/javascript", headers={"Cache-Control": "no-cache"})


@require_safe
def manifest(_request: HttpRequest) -> HttpResponse:
    """What a phone or a desktop needs to install the site, from any of its pages."""
    facts = {
        "name": "Longstand",
        "short_name": "Longstand",
        "lang": "en-GB",
        "display": "standalone",
        "id": reverse("worksheet"),  # as it was first installed: another id would be a second application
        "start_url": reverse("collection"),
        "scope": "/",
        "background_color": PAPER,
        "theme_color": INK,
        "icons": [
            {
                "src": static(f"{FOLDER}/{name}-{size}.png"),
                "sizes": f"{size}x{size}",
                "type": "image/png",
                "purpose": purpose,
            }
            for name, purpose in (("icon", "any"), ("maskable", "maskable"))
            for size in (192, 512)
        ],
        "shortcuts": [_shortcut("The round", "worksheet"), _shortcut("Scan a label", "worksheet_scan")],
    }
    return JsonResponse(facts, content_type="application/manifest+json")


def _shortcut(name: str, page: str) -> dict[str, object]:
    icon = {"src": static(f"{FOLDER}/icon-192.png"), "sizes": "192x192", "type": "image/png"}
    return {"name": name, "url": reverse(page), "icons": [icon]}


@require_safe
@needs(WORK)
def worksheet_scan(request: AccessRequest) -> HttpResponse:
    """A car's or a bay's label read by the camera, where the browser can; else found by name."""
    return render(request, "round/worksheet/scan.html")


@require_safe
def worksheet_offline(request: HttpRequest) -> HttpResponse:
    """Shown by the phone for a page that it does not hold."""
    return render(request, "round/worksheet/offline.html")
