"""Members, owners, and one's own page."""

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render

from collection.models import Owner
from collection.people.actions import people as act
from collection.people.forms.people import (
    MeForm,
    MemberForm,
    OrganisationForm,
    OwnerForm,
    OwnPasswordForm,
    RoleForm,
    TwicePassword,
)
from collection.people.queries import people as query
from collection.permissions import CHOSEN, MANAGE, SEE_CARS, AccessRequest, needs
from collection.web.form_faults import saved
from collection.web.units import edge

ENDED = {"remove": "no longer a member", "second": "second factor taken off"}


@needs(MANAGE)
def people(request: AccessRequest) -> HttpResponse:
    """Who may sign in, and whose the cars are."""
    shown = {"members": query.members(request.access), "owners": query.owners_with_cars(request.access)}
    return render(request, "people/people.html", shown)


@needs(MANAGE)
def member_new(request: AccessRequest) -> HttpResponse:
    """Somebody new, with a first password that the manager hands over."""
    form = MemberForm(_sent(request), sites=request.access.sites())

    def add() -> None:
        values = {name: form.cleaned_data[name] for name in ("name", "email", "role", "password", "sites")}
        act.add_member(organisation=request.access.organisation, **values)

    if request.method == "POST" and saved([form], add):
        return _done(request, f"{form.cleaned_data['email']} is a member now.", "people")
    return render(
        request, "people/edit.html", {"title": "New member", "form": form, "button": "Add the member"}
    )


@needs(MANAGE)
def member_edit(request: AccessRequest, pk: int) -> HttpResponse:
    """A member's role, whether they may sign in, a new password, or the end of the membership."""
    membership = get_object_or_404(query.members(request.access), pk=pk)
    person, what = membership.person, request.POST.get("what")
    now = {"role": membership.role, "is_active": person.is_active, "sites": list(membership.sites.all())}
    sites = request.access.sites()
    role = RoleForm(_sent(request, "role"), initial=now, sites=sites)
    password = TwicePassword(_sent(request, "password"))

    def change() -> None:
        values = role.cleaned_data
        act.change_member(
            membership=membership, role=values["role"], may_sign_in=values["is_active"], sites=values["sites"]
        )

    def renew() -> None:
        act.set_member_password(membership=membership, password=password.cleaned_data["password"])

    if what == "role" and saved([role], change):
        return _done(request, f"{person}: saved.", "people")
    if what == "password" and saved([password], renew):
        return _done(request, f"{person}: new password set. Hand it over in person.", "people")
    end = {"remove": act.remove_member, "second": act.remove_second_factor}.get(what or "")
    if end and saved([role := RoleForm(now, initial=now, sites=sites)], lambda: end(membership=membership)):
        return _done(request, f"{person}: {ENDED[str(what)]}.", "people")
    shown = {
        "membership": membership,
        "role": role,
        "password": password,
        "second_factor": query.has_second_factor(person),
    }
    return render(request, "people/member.html", shown)


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
        return _done(request, f"{owner}: saved.", "people")
    shown = {"title": title, "form": form, "button": "Save"}
    return render(request, "people/edit.html", shown | (more or {}))


@needs(SEE_CARS)
def me(request: AccessRequest) -> HttpResponse:
    """One's own name and units, password, and organisation."""
    person, what = request.access.person, request.POST.get("what")
    name = MeForm(_sent(request, "name"), instance=person, edge=edge(person.units))
    password = OwnPasswordForm(_sent(request, "password"), person=person)
    where = OrganisationForm(
        _sent(request, "organisation"),
        organisations=query.organisations_of(person),
        initial={"organisation": request.access.organisation.pk},
    )

    def renew() -> None:
        act.set_password(person=person, password=password.cleaned_data["password"])

    if what == "name" and saved([name], lambda: act.save_self(person=person)):
        return _done(request, "Saved.", "me")
    if what == "password" and saved([password], renew):
        update_session_auth_hash(request, person)
        return _done(request, "Your password is changed.", "me")
    if what == "organisation" and where.is_valid():
        request.session[CHOSEN] = where.cleaned_data["organisation"].pk
        return _done(request, f"You are now at {where.cleaned_data['organisation']}.", "me")
    return render(request, "people/me.html", {"name": name, "password": password, "where": where})


def _sent(request: AccessRequest, what: str | None = None) -> QueryDict | None:
    """What was sent, to the form it was sent for when a page has several."""
    if request.method != "POST" or (what and request.POST.get("what") != what):
        return None
    return request.POST


def _done(request: AccessRequest, words: str, to: str) -> HttpResponse:
    messages.success(request, words)
    return redirect(to)
