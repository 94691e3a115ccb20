"""Links to a car's history: made, listed and ended by those who may; read by whoever holds one."""

from collections.abc import Callable
from functools import wraps
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from collection.care.queries.attachments import bytes_of
from collection.history import Story, scope_of, tell
from collection.history.actions import digest_of, make_share, note_opening, revoke_share
from collection.history.doings import Doing, doings
from collection.history.forms.shares import LinksForm, ShareForm
from collection.history.grades import GRADES
from collection.history.proof_scope import shared_proof
from collection.history.queries.history import whole_log
from collection.history.queries.shares import NEWEST_OPENINGS, is_open, openings_of, share_of, shares_of
from collection.history.side_by_side import side_by_side
from collection.history.views.history import file_answer, pdf_answer
from collection.life.refresh import refresh_if_stale
from collection.models import ShareLink, Units
from collection.permissions import SHARE, AccessRequest, needs, zone_of_organisation
from collection.proof.actions import export_history
from collection.web import visitors
from collection.web.form_faults import saved
from collection.web.sorting import Column, Sorting
from collection.web.stored_files import stored_file

# No search engine keeps it, no page that it leads to learns its address, no cache holds it.
SECRET = {
    "X-Robots-Tag": "noindex, nofollow, noarchive",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "private, no-store",
}
OPENED = {"page": "read", "pdf": "taken as PDF", "file": "taken as file", "compared": "compared"}
OPENING_COLUMNS = (
    Column("when", "When", ("at",)),
    Column("link", "Link", ("share__reader",)),
    Column("what", "What", ("what",)),
    Column("network", "Network", ("network",)),
    Column("browser", "Browser", ("browser",)),
)


@needs(SHARE)
def shares(request: AccessRequest, pk: int) -> HttpResponse:
    """A car's links with who opened them; a new one is shown once, here."""
    vehicle, now = request.access.vehicle(pk), timezone.now()
    form = ShareForm(request.POST if request.method == "POST" else None, today=timezone.localdate())
    shown: dict[str, Any] = {"vehicle": vehicle, "form": form, "now": now}

    def make() -> None:
        who, ends = request.access.person, form.expires_at()
        _, token = make_share(vehicle=vehicle, by=who, now=now, expires_at=ends, scope=form.scope())
        shown["address"] = request.build_absolute_uri(reverse("shared", args=[token]))

    if request.method == "POST" and saved([form], make):
        shown["form"] = ShareForm(today=timezone.localdate())
    listed = Sorting(request.GET, OPENING_COLUMNS)
    openings = [
        (opening, OPENED[opening.what]) for opening in listed.rows(openings_of(vehicle))[:NEWEST_OPENINGS]
    ]
    shown |= {"shares": shares_of(vehicle), "openings": openings, "heads": listed.heads}
    return render(request, "history/shares/shares.html", shown)


@require_POST
@needs(SHARE)
def share_end(request: AccessRequest, pk: int, share: int) -> HttpResponse:
    """End one link at once."""
    vehicle = request.access.vehicle(pk)
    revoke_share(share=get_object_or_404(vehicle.shares, pk=share), now=timezone.now())
    messages.success(request, "The link is ended: whoever opens it now is told so.")
    return redirect("shares", vehicle.pk)


def _secret(answer: HttpResponse) -> HttpResponse:
    for name, value in SECRET.items():
        answer.headers[name] = value
    return answer


Reader = Callable[[HttpRequest, ShareLink], HttpResponse]


def by_link(what: str) -> Callable[[Reader], Callable[..., HttpResponse]]:
    """Let in whoever holds a link that is open; count, log and keep the answer out of all caches."""

    def decorate(view: Reader) -> Callable[..., HttpResponse]:
        @require_safe
        @wraps(view)
        def checked(request: HttpRequest, token: str) -> HttpResponse:
            share = held(request, token, what)
            return _secret(view(request, share) if isinstance(share, ShareLink) else share)

        return checked

    return decorate


def held(request: HttpRequest, token: str, what: str) -> ShareLink | HttpResponse:
    """The open link of this token, with the opening logged; else the page that says why not."""
    now, address = timezone.now(), visitors.address_of(request)
    if visitors.too_many(address, now) or visitors.missed_too_often(address, now):
        return render(request, "history/shares/closed.html", {"why": "often"}, status=429)
    share = share_of(digest_of(token))
    if share is None:
        visitors.note_miss(address, now)
        return render(request, "history/shares/closed.html", {"why": "unknown"}, status=404)
    if not is_open(share, now):
        return render(request, "history/shares/closed.html", {"why": "ended"}, status=410)
    if request.method != "HEAD":
        browser = request.headers.get("User-Agent", "")
        note_opening(share=share, what=what, now=now, network=visitors.network_of(address), browser=browser)
    return share


def story_of(share: ShareLink) -> Story:
    """The story as the link's scope has it, in the zone of those who keep the car."""
    vehicle = share.vehicle
    with timezone.override(zone_of_organisation(vehicle.organisation)):
        today = timezone.localdate()
        refresh_if_stale(vehicle, today=today)
        return tell(vehicle, today=today, units=_units(share), scope=scope_of(share))


def _units(share: ShareLink) -> str:
    """Those of whoever made the link."""
    return share.made_by.units if share.made_by else Units.METRIC


@by_link("page")
def shared(request: HttpRequest, share: ShareLink) -> HttpResponse:
    """The history for whoever holds the link."""
    story = story_of(share)
    shown = {
        "story": story,
        "today": story.today,
        "grades": GRADES,
        "share": share,
        "token": request.resolver_match.kwargs["token"] if request.resolver_match else "",
    }
    return render(request, "history/shares/shared.html", shown)


@by_link("pdf")
def shared_pdf(_request: HttpRequest, share: ShareLink) -> HttpResponse:
    """The same as PDF, with the file that proves it inside."""
    return pdf_answer(story_of(share), _proof(share))


@by_link("file")
def shared_file(request: HttpRequest, share: ShareLink) -> HttpResponse:
    """The exported history without what the link withholds."""
    file = _proof(share)
    if file is None:
        return render(request, "history/shares/closed.html", {"why": "part"}, status=404)
    return file_answer(share.vehicle, file)


def _proof(share: ShareLink) -> bytes | None:
    now = timezone.now()
    if is_whole(share):
        return export_history(share.vehicle, now=now)
    with timezone.override(zone_of_organisation(share.vehicle.organisation)):
        return shared_proof(share, scope_of(share), now)


def is_whole(share: ShareLink) -> bool:
    """Whether the link withholds nothing that the exported file holds."""
    told = share.with_owner and share.with_place and share.with_notes and share.with_files
    return told and not (share.first or share.last)


@require_safe
def shared_attachment(request: HttpRequest, token: str, file: UUID) -> HttpResponse:
    """A photograph or document of a history, where its link shows it; its page counts the opening."""
    now, address = timezone.now(), visitors.address_of(request)
    share = None if visitors.missed_too_often(address, now) else share_of(digest_of(token))
    if share is None:
        visitors.note_miss(address, now)
    if share is None or not is_open(share, now):
        raise Http404
    files = (each for doing in shown_doings(share) for each in doing.files if each.pk == file)
    found = next(files, None)
    data = bytes_of(found) if found else None
    if found is None or data is None:
        raise Http404
    return _secret(stored_file(data, type_=found.type, name=found.name))


def shown_doings(share: ShareLink) -> list[Doing]:
    """The entries that a link shows, with their files."""
    with timezone.override(zone_of_organisation(share.vehicle.organisation)):
        return doings(whole_log(share.vehicle), scope_of(share), _units(share))


def shared_compare(request: HttpRequest) -> HttpResponse:
    """Several links side by side, for a reader who has to choose; sent by POST, so no log keeps them."""
    form = LinksForm(request.POST if request.method == "POST" else None, initial={"links": ""})
    shown: dict[str, Any] = {"form": form}
    if request.method == "POST" and form.is_valid():
        shares = [held(request, token, "compared") for token in form.cleaned_data["links"]]
        if refusal := next((each for each in shares if isinstance(each, HttpResponse)), None):
            return _secret(refusal)
        stories = [story_of(share) for share in shares if isinstance(share, ShareLink)]
        shown |= {"stories": stories, "sections": side_by_side(stories)}
    answer = _secret(render(request, "history/shares/compare.html", shown))
    answer.headers["Referrer-Policy"] = (
        "same-origin"  # its address holds no token, and its form must come from here
    )
    return answer
