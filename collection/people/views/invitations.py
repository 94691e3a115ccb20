"""Invitations: made and withdrawn by managers, accepted by whoever holds the link."""

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from collection.models import Invitation, Organisation, Person
from collection.people.actions import invitations as act
from collection.people.forms.people import InvitationForm, NewSignInForm
from collection.people.queries.people import invitations_open
from collection.permissions import CHOSEN, MANAGE, AccessRequest, needs
from collection.web import visitors
from collection.web.form_faults import saved
from collection.web.measures import PlainForm

# No search engine keeps it, no page that it leads to learns its address, no cache holds it.
SECRET = {
    "X-Robots-Tag": "noindex, nofollow, noarchive",
    "Referrer-Policy": "same-origin",
    "Cache-Control": "private, no-store",
}


@needs(MANAGE)
def member_new(request: AccessRequest) -> HttpResponse:
    """Invite somebody; the link goes to them by mail, or is shown once to be handed over."""
    access, shown = request.access, {}
    sent = request.POST if request.method == "POST" else None
    form = InvitationForm(sent, sites=access.sites(), initial={"sites": list(access.sites())})

    def make() -> None:
        asked = {name: form.cleaned_data[name] for name in ("email", "role", "sites")}
        shown["link"] = ask(request, access.organisation, access.person, **asked)

    if request.method == "POST" and saved([form], make):
        if not shown["link"]:
            messages.success(request, f"The invitation is on its way to {form.cleaned_data['email']}.")
            return redirect("people")
        shown["email"] = form.cleaned_data["email"]
    return _secret(render(request, "people/invite.html", {"form": form, **shown}))


def ask(
    request: HttpRequest, organisation: Organisation, by: Person, *, email: str, role: str, sites: Any
) -> str:
    """Invite somebody; the link where no mail is sent, which nobody can be shown again, else nothing."""
    now = timezone.now()
    invitation, secret = act.invite(
        organisation=organisation, email=email, role=role, sites=sites, by=by, now=now
    )
    link = request.build_absolute_uri(reverse("invitation", args=[secret]))
    if not settings.SENDS_MAIL:
        return link
    act.send_invitation(invitation=invitation, link=link, now=now)
    return ""


@require_POST
@needs(MANAGE)
def invitation_end(request: AccessRequest, pk: int) -> HttpResponse:
    """Withdraw an invitation."""
    invited = get_object_or_404(invitations_open(request.access, timezone.now()), pk=pk)
    act.end_invitation(invitation=invited, now=timezone.now())
    messages.success(request, f"The invitation of {invited.email} is withdrawn.")
    return redirect("people")


def invitation(request: HttpRequest, secret: str) -> HttpResponse:
    """Accept: with the sign-in that one has, or with a new one."""
    now, address = timezone.now(), visitors.address_of(request)
    if visitors.too_many(address, now) or visitors.missed_too_often(address, now):
        return _secret(render(request, "people/invitation.html", {"often": True}, status=429))
    invited = act.invitation_of(secret, now)
    if invited is None:
        visitors.note_miss(address, now)
        return _secret(render(request, "people/invitation.html", status=404))
    return _secret(_signed_in(request, invited) if request.user.is_authenticated else _new(request, invited))


def _signed_in(request: Any, invited: Invitation) -> HttpResponse:
    form = PlainForm(request.POST if request.method == "POST" else None)
    now = timezone.now()
    if request.method == "POST" and saved(
        [form], lambda: act.join(invitation=invited, person=request.user, now=now)
    ):
        request.session[CHOSEN] = invited.organisation_id
        messages.success(request, f"You are a member of {invited.organisation} now.")
        return redirect("home")
    shown = {"invitation": invited, "form": form, "is_mine": request.user.email == invited.email}
    return render(request, "people/invitation.html", shown)


def _new(request: HttpRequest, invited: Invitation) -> HttpResponse:
    form = NewSignInForm(request.POST if request.method == "POST" else None)

    def make() -> None:
        name, password = form.cleaned_data["name"], form.cleaned_data["password"]
        act.join_as_new(invitation=invited, name=name, password=password, now=timezone.now())

    if request.method == "POST" and saved([form], make):
        messages.success(request, f"You are a member of {invited.organisation} now: sign in.")
        return redirect("sign_in")
    return render(request, "people/invitation.html", {"invitation": invited, "form": form})


def _secret(answer: HttpResponse) -> HttpResponse:
    for name, value in SECRET.items():
        answer.headers[name] = value
    return answer
