"""Who may sign in, in which role, and whose the cars are."""

from collections.abc import Iterable

from allauth.mfa.models import Authenticator
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from collection.models import Membership, Organisation, Owner, Person, Role, Site
from collection.web.faults import check

LAST_MANAGER = "This is the last manager who can sign in: make somebody else a manager first."
SHARED = (
    "This person also belongs to another organisation, or runs the installation: only they may change this."
)


@transaction.atomic
def add_member(
    *, organisation: Organisation, email: str, name: str, role: str, password: str, sites: Iterable[Site] = ()
) -> Membership:
    """Make a person a member; somebody who already has a sign-in keeps their name and password."""
    person = Person.objects.filter(email=email.strip().lower()).first()
    if person is None:
        person = _new_person(email=email.strip().lower(), name=name, password=password)
    elif person.memberships.filter(organisation=organisation).exists():
        raise ValidationError({"email": f"{person.email} is a member already: change them below instead."})
    membership = Membership(person=person, organisation=organisation, role=role)
    check(membership, {})
    membership.save()
    _assign(membership, sites)
    return membership


def _assign(membership: Membership, sites: Iterable[Site]) -> None:
    """Staff to the sites given; other roles are assigned nowhere."""
    wanted = list(sites) if membership.role == Role.STAFF else []
    if any(site.organisation_id != membership.organisation_id for site in wanted):
        raise ValidationError({"sites": "That site is not in your organisation: choose from the list."})
    membership.sites.set(wanted)


def _new_person(*, email: str, name: str, password: str) -> Person:
    person = Person(email=email, name=name)
    person.set_password(password)
    check(person, _password_faults(password, person))
    person.save()
    return person


def _password_faults(password: str, person: Person) -> dict[str, str]:
    if not password:
        return {"password": "Give a first password; they can change it under their name."}
    try:
        validate_password(password, person)
    except ValidationError as fault:
        return {"password": " ".join(fault.messages)}
    return {}


@transaction.atomic
def change_member(
    *, membership: Membership, role: str, may_sign_in: bool, sites: Iterable[Site] = ()
) -> None:
    """Change a member's role, sites and whether they may sign in; never away with the last manager."""
    stays = role == Role.MANAGER and may_sign_in
    keep_a_manager(membership, "role" if role != Role.MANAGER else "is_active", stays=stays)
    person = membership.person
    if may_sign_in != person.is_active:
        refuse_if_shared(membership, "is_active")
        person.is_active = may_sign_in
        person.save(update_fields=["is_active"])
    membership.role = role
    check(membership, {})
    membership.save()
    _assign(membership, sites)


@transaction.atomic
def remove_member(*, membership: Membership) -> None:
    """End a membership; the person and what they wrote in the care log stay."""
    keep_a_manager(membership, "role", stays=False)
    membership.delete()


@transaction.atomic
def set_member_password(*, membership: Membership, password: str) -> None:
    """Give a member who forgot theirs a new password."""
    refuse_if_shared(membership, "password")
    set_password(person=membership.person, password=password)


def set_password(*, person: Person, password: str) -> None:
    """Give a person a password that passes the rules."""
    if faults := _password_faults(password, person):
        raise ValidationError(dict(faults))
    person.set_password(password)
    person.save(update_fields=["password"])


@transaction.atomic
def remove_second_factor(*, membership: Membership) -> None:
    """Take app, passkeys and recovery codes off a member who lost their phone."""
    refuse_if_shared(membership, "role")
    Authenticator.objects.filter(user=membership.person).delete()


def keep_a_manager(membership: Membership, field: str, *, stays: bool) -> None:
    """Refuse what would leave the organisation without a manager who can sign in."""
    managers = Membership.objects.select_for_update().filter(
        organisation=membership.organisation, role=Role.MANAGER, person__is_active=True
    )
    others = [other for other in managers if other.pk != membership.pk]
    if not stays and not others:
        raise ValidationError({field: LAST_MANAGER})


def refuse_if_shared(membership: Membership, field: str) -> None:
    """A manager rules only over sign-ins that are used here and nowhere else."""
    elsewhere = membership.person.memberships.exclude(pk=membership.pk)
    if elsewhere.exists() or membership.person.is_superuser:
        raise ValidationError({field: SHARED})


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
        faults["person"] = "That person is not a member here: add them as a member first."
    check(owner, faults)
    owner.save()
    return owner
