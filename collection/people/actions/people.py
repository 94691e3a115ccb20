"""Who may sign in, in which role, and whose the cars are."""

from collections.abc import Iterable
from datetime import datetime

from allauth.usersessions.models import UserSession
from django.contrib.auth.password_validation import validate_password
from django.contrib.sessions.backends.db import SessionStore
from django.core.exceptions import ValidationError
from django.db import transaction

from collection.models import ApiToken, KeyGrant, Membership, Owner, Person, Role, ShareLink, Site
from collection.permissions import CHOSEN, membership_of
from collection.web.faults import check

LAST_MANAGER = "This is the last manager who can sign in: make somebody else a manager first."


def new_person(*, email: str, name: str, password: str) -> Person:
    """Somebody new with a password that passes the rules."""
    person = Person(email=email, name=name)
    person.set_password(password)
    check(person, _password_faults(password, person))
    person.save()
    return person


def _password_faults(password: str, person: Person) -> dict[str, str]:
    if not password:
        return {"password": "Choose a password."}
    try:
        validate_password(password, person)
    except ValidationError as fault:
        return {"password": " ".join(fault.messages)}
    return {}


@transaction.atomic
def change_member(
    *, membership: Membership, role: str, sites: Iterable[Site] = (), by: Person, now: datetime
) -> None:
    """Change a member's role and the sites whose keys they may ask for; never away with the last manager."""
    keep_a_manager(membership, "role", stays=role == Role.MANAGER)
    membership.role = role
    check(membership, {})
    wanted = set(sites) if role == Role.STAFF else set()
    if any(site.organisation_id != membership.organisation_id for site in wanted):
        raise ValidationError({"sites": "That site is not in your organisation: choose from the list."})
    membership.save()
    membership.key_grants.exclude(site__in=wanted).delete()
    for site in wanted - set(membership.sites.all()):
        KeyGrant.objects.create(membership=membership, site=site, given_by=by, given_at=now)


@transaction.atomic
def remove_member(*, membership: Membership, now: datetime) -> None:
    """End a membership and what it opened: sessions at this organisation, tokens, feeds, links made here.

    The person, their sign-in elsewhere and what they wrote in the care log stay.
    """
    keep_a_manager(membership, "role", stays=False)
    person, organisation = membership.person, membership.organisation
    end_sessions_at(membership)
    links = ShareLink.objects.filter(made_by=person, vehicle__organisation=organisation)
    links.filter(revoked_at__isnull=True).update(revoked_at=now)
    Owner.objects.filter(organisation=organisation, person=person).update(person=None)
    membership.delete()


def end_sessions_at(membership: Membership) -> None:
    """End the person's sessions that are at this organisation, and no others."""
    for session in UserSession.objects.filter(user=membership.person):
        chosen = SessionStore(session.session_key).get(CHOSEN)
        if membership_of(membership.person, chosen) == membership:
            session.end()


def end_everywhere(person: Person) -> None:
    """End all sessions of somebody."""
    for session in UserSession.objects.filter(user=person):
        session.end()


def end_tokens(*, person: Person, now: datetime) -> None:
    """End all tokens under which programmes speak for somebody."""
    ApiToken.objects.filter(membership__person=person, ended_at__isnull=True).update(ended_at=now)


@transaction.atomic
def set_password(*, person: Person, password: str, tokens_too: bool, now: datetime) -> None:
    """Give a person a password that passes the rules; it signs them out elsewhere, ends tokens if asked."""
    if faults := _password_faults(password, person):
        raise ValidationError(dict(faults))
    person.set_password(password)
    person.save(update_fields=["password"])
    if tokens_too:
        end_tokens(person=person, now=now)


def keep_a_manager(membership: Membership, field: str, *, stays: bool) -> None:
    """Refuse what would leave the organisation without a manager who can sign in."""
    managers = Membership.objects.select_for_update().filter(
        organisation=membership.organisation, role=Role.MANAGER, person__is_active=True
    )
    others = [other for other in managers if other.pk != membership.pk]
    if not stays and not others:
        raise ValidationError({field: LAST_MANAGER})


def keep_managers(person: Person, field: str) -> None:
    """The same of every organisation that a person manages."""
    for membership in person.memberships.filter(role=Role.MANAGER).select_related("organisation"):
        keep_a_manager(membership, field, stays=False)


def save_self(*, person: Person) -> Person:
    """Save a person's own name and units."""
    check(person, {})
    person.save(update_fields=["name", "units"])
    return person


@transaction.atomic
def save_owner(*, owner: Owner) -> Owner:
    """Save an owner of cars; their sign-in, if any, is a member here."""
    faults = {}
    same = Owner.objects.filter(organisation=owner.organisation, name__iexact=owner.name)
    if same.exclude(pk=owner.pk).exists():
        faults["name"] = f"There is already an owner called {owner.name}: choose another name."
    if owner.person and not owner.person.memberships.filter(organisation=owner.organisation).exists():
        faults["person"] = "That person is not a member here: invite them first."
    check(owner, faults)
    owner.save()
    return owner
