"""Who runs the installation: named, handed over, ended, and never nobody."""

from datetime import datetime

from allauth.mfa.models import Authenticator
from django.core.exceptions import ValidationError
from django.db import transaction

from collection.models import Invitation, Membership, Operator, Organisation, Person, Role
from collection.people.actions.forgetting import forget_person
from collection.people.actions.people import end_everywhere, keep_managers
from collection.web.faults import check

LAST = "This is the last operator who can sign in: name somebody else first."
NO_SIGN_IN = "Nobody who may sign in has this address: they join an organisation first."


@transaction.atomic
def name_operator(*, email: str, by: Person | None, now: datetime) -> Operator:
    """Give somebody with a sign-in the grant; ``by`` is None at the machine itself."""
    person = Person.objects.filter(email=email.strip().lower(), is_active=True).first()
    if person is None:
        raise ValidationError({"email": NO_SIGN_IN})
    if Operator.objects.filter(person=person, ended_at__isnull=True).exists():
        raise ValidationError({"email": f"{person} is an operator already."})
    grant = Operator(person=person, given_by=by, given_at=now)
    check(grant, {})
    grant.save()
    return grant


@transaction.atomic
def end_operator(*, grant: Operator, by: Person, now: datetime) -> None:
    """End a grant that is open; never the last of somebody who can sign in."""
    keep_an_operator(grant.person, "email")
    Operator.objects.filter(pk=grant.pk, ended_at__isnull=True).update(ended_at=now, ended_by=by)


@transaction.atomic
def hand_over(*, email: str, by: Person, now: datetime) -> Operator:
    """Name another and end one's own grant, in one step."""
    grant = name_operator(email=email, by=by, now=now)
    own = Operator.objects.filter(person=by, ended_at__isnull=True)
    own.update(ended_at=now, ended_by=by)
    return grant


def keep_an_operator(person: Person, field: str) -> None:
    """Refuse what would leave the installation without an operator who can sign in."""
    open_ones = Operator.objects.select_for_update().filter(ended_at__isnull=True, person__is_active=True)
    people = {grant.person_id for grant in open_ones}
    if people == {person.pk}:
        raise ValidationError({field: LAST})


@transaction.atomic
def open_organisation(*, name: str) -> Organisation:
    """A new organisation with nobody in it yet; ValidationError names what is wrong."""
    organisation = Organisation(name=name.strip())
    check(organisation, {})
    organisation.save()
    return organisation


def refuse_if_managed(organisation: Organisation) -> None:
    """Operators bring in the first manager only: an organisation with a manager keeps its own door."""
    if Membership.objects.filter(organisation=organisation, role=Role.MANAGER).exists():
        raise ValidationError(f"{organisation} has a manager, who invites its members.")


@transaction.atomic
def set_sign_in(*, person: Person, is_open: bool) -> None:
    """Close a sign-in everywhere, or open it again; never that of the last operator or of a last manager."""
    if not is_open:
        keep_an_operator(person, "is_active")
        keep_managers(person, "is_active")
        end_everywhere(person)
    person.is_active = is_open
    person.save(update_fields=["is_active"])


def remove_second_factor(*, person: Person) -> None:
    """Take app, passkeys and recovery codes off somebody who lost their phone."""
    Authenticator.objects.filter(user=person).delete()


@transaction.atomic
def forget(*, person: Person, now: datetime) -> None:
    """Forget somebody everywhere; never the last operator nor the last manager of an organisation."""
    keep_an_operator(person, "words")
    keep_managers(person, "words")
    Invitation.objects.filter(email=person.email).delete()
    forget_person(person=person, today=now.date())
