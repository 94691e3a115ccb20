"""One's own tokens for programmes: made, shown once, ended."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from collection.api.actions import tokens as act
from collection.api.forms import TokenForm
from collection.notices.queries.reminders import membership_of
from collection.notices.queries.webhooks import open_tokens
from collection.permissions import SCOPES, SEE_CARS, AccessRequest, needs
from collection.web.form_faults import saved

MOST_DIGITS = 10  # longer than any row number


@needs(SEE_CARS)
def tokens(request: AccessRequest) -> HttpResponse:
    """Make a token, see when each was last used, end one at once."""
    access, now = request.access, timezone.now()
    if "end" in request.POST:
        return _end(request)
    form = TokenForm(
        request.POST if request.method == "POST" else None,
        scopes=act.allowed_scopes(access.role),
        today=timezone.localdate(),
    )
    shown: dict[str, object] = {}

    def make() -> None:
        cleaned = form.cleaned_data
        shown["made"], shown["secret"] = act.make_token(
            membership=membership_of(access),
            name=cleaned["name"],
            scopes=cleaned["scopes"],
            expires_at=form.expires_at(),
            now=now,
        )

    if request.method == "POST" and saved([form], make):
        form = TokenForm(scopes=act.allowed_scopes(access.role), today=timezone.localdate())
    rows = [
        (token, [SCOPES[scope][0] for scope in token.scopes if scope in SCOPES])
        for token in open_tokens(access)
    ]
    shown |= {
        "form": form,
        "tokens": rows,
        "now": now,
        "address": request.build_absolute_uri(reverse("home")),
    }
    answer = render(request, "api/tokens.html", shown)
    answer.headers["Cache-Control"] = "private, no-store"  # a secret may stand on it
    return answer


def _end(request: AccessRequest) -> HttpResponse:
    key = request.POST["end"]
    token = get_object_or_404(
        open_tokens(request.access), pk=key if key.isdecimal() and len(key) <= MOST_DIGITS else 0
    )
    act.end_token(token=token, now=timezone.now())
    messages.success(request, f"{token.name}: ended. Whoever uses it is turned away from now on.")
    return redirect("tokens")
