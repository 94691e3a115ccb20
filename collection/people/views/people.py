"""Members, owners, and one's own page."""

from typing import Any

from allauth.account.adapter import get_adapter
from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from collection.models import Owner
from collection.people.actions import people as act
from collection.people.forms.people import (
    MeForm,
    OrganisationForm,
    OwnerForm,
    OwnPasswordForm,
    RoleForm,
)
from collection.people.queries import people as query
from collection.permissions import CHOSEN, MANAGE, AccessRequest, needs, signed_in
from collection.web.form_faults import saved
from collection.web.sorting import Column, Sorting
from collection.web.units import edge
from collection.web.way_back import way_back

MEMBER_COLUMNS = (
    Column("name", "Name", ("person__name",)),
    Column("email", "E-mail address", ("person__email",)),
    Column("role", "Role", ("role",)),
    Column("open", "Signs in", ("person__is_active",)),
)
OWNER_COLUMNS = (
    Column("name", "Name", ("name",)),
    Column("contact", "Contact", ("contact",)),
    Column("cars", "Cars here", ("cars",)),
    Column("person", "Signs in as", ("person__email",)),
)


@needs(MANAGE)
def people(request: AccessRequest) -> HttpResponse:
    """Who may sign in, who is invited, and whose the cars are."""
    members = Sorting(request.GET, MEMBER_COLUMNS, "members")
    owners = Sorting(request.GET, OWNER_COLUMNS, "owners")
    shown = {
        "members": members.rows(query.members(request.access)),
        "member_heads": members.heads,
        "invitations": query.invitations_open(request.access, timezone.now()),
        "owners": owners.rows(query.owners_with_cars(request.access)),
        "owner_heads": owners.heads,
    }
    return render(request, "people/people.html", shown)


@needs(MANAGE)
def member_edit(request: AccessRequest, pk: int) -> HttpResponse:
    """A member's role, whose keys they may ask for, or the end of the membership."""
    membership, now = get_object_or_404(query.members(request.access), pk=pk), timezone.now()
    person, what = membership.person, request.POST.get("what")
    initial = {"role": membership.role, "sites": list(membership.sites.all())}
    sites = request.access.sites()
    role = RoleForm(_sent(request, "role"), initial=initial, sites=sites)

    def change() -> None:
        act.change_member(membership=membership, by=request.access.person, now=now, **role.cleaned_data)

    if what == "role" and saved([role], change):
        return _done(request, f"{person}: saved.", "people")
    if what == "remove":
        role = RoleForm(initial, initial=initial, sites=sites)
        if saved([role], lambda: act.remove_member(membership=membership, now=now)):
            return _done(request, f"{person}: no longer a member.", "people")
    return render(request, "people/member.html", {"membership": membership, "role": role})


@needs(MANAGE)
def owner_new(request: AccessRequest) -> HttpResponse:
    """Somebody whose cars are stored here."""
    return _owner(request, Owner(organisation=request.access.organisation), "New owner")


@needs(MANAGE)
def owner_edit(request: AccessRequest, pk: int) -> HttpResponse:
    """An owner's name, contact and sign-in."""
    owner = get_object_or_404(request.access.owners(), pk=pk)
    return _owner(request, owner, f"Owner: {owner}", {"owner": owner})


def _owner(
    request: AccessRequest, owner: Owner, title: str, more: dict[str, Owner] | None = None
) -> HttpResponse:
    units = edge(request.access.person.units)
    form = OwnerForm(_sent(request), instance=owner, edge=units, people=query.people_of(request.access))
    if request.method == "POST" and saved([form], lambda: act.save_owner(owner=owner)):
        return _done(request, f"{owner}: saved.", way_back(request) or "people")
    shown = {"title": title, "form": form, "button": "Save"}
    return render(request, "people/edit.html", shown | (more or {}))


@signed_in
def me(request: Any) -> HttpResponse:
    """One's own name and units, password, and organisation."""
    person, what = request.user, request.POST.get("what")
    here = request.access.organisation.pk if hasattr(request, "access") else None
    name = MeForm(_sent(request, "name"), instance=person, edge=edge(person.units))
    password = OwnPasswordForm(_sent(request, "password"), person=person)
    where = OrganisationForm(
        _sent(request, "organisation"),
        organisations=query.organisations_of(person),
        initial={"organisation": here},
    )

    def renew() -> None:
        typed = password.cleaned_data
        act.set_password(
            person=person, password=typed["password"], tokens_too=typed["tokens"], now=timezone.now()
        )

    if what == "name" and saved([name], lambda: act.save_self(person=person)):
        return _done(request, "Saved.", "me")
    if what == "password" and saved([password], renew):
        update_session_auth_hash(request, person)
        get_adapter().send_notification_mail("account/email/password_changed", person)
        return _done(request, "Your password is changed, and you are signed out everywhere else.", "me")
    if what == "organisation" and where.is_valid():
        request.session[CHOSEN] = where.cleaned_data["organisation"].pk
        return _done(request, f"You are now at {where.cleaned_data['organisation']}.", "me")
    shown = {
        "name": name,
        "password": password,
        "where": where,
        "tokens": query.tokens_open(person),
        "sign_ins": query.sign_ins_of(person),
    }
    return render(request, "people/me.html", shown)


def _sent(request: AccessRequest, what: str | None = None) -> QueryDict | None:
    """What was sent, to the form it was sent for when a page has several."""
    if request.method != "POST" or (what and request.POST.get("what") != what):
        return None
    return request.POST


def _done(request: AccessRequest, words: str, to: str) -> HttpResponse:
    messages.success(request, words)
    return redirect(to)
