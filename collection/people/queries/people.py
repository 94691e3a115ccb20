"""Members and owners of an organisation, and the organisations of a person."""

from datetime import datetime

from allauth.mfa.models import Authenticator
from django.db.models import Count, Exists, OuterRef, Q, QuerySet

from collection.models import (
    ApiToken,
    Invitation,
    Membership,
    Operator,
    Organisation,
    Owner,
    Person,
    Role,
    SignIn,
)
from collection.permissions import Access


def members(access: Access) -> QuerySet[Membership]:
    """The organisation's members by name."""
    return access.memberships().select_related("person").order_by("person__name", "pk")


def owners_with_cars(access: Access) -> QuerySet[Owner]:
    """Owners with the number of their cars in storage (``cars``)."""
    here = Count("vehicles", filter=Q(vehicles__left_on__isnull=True))
    return access.owners().select_related("person").annotate(cars=here).order_by("name")


def people_of(access: Access) -> QuerySet[Person]:
    """Whoever may be the sign-in of an owner: the members."""
    return Person.objects.filter(memberships__organisation=access.organisation).order_by("name")


def organisations_of(person: Person) -> QuerySet[Organisation]:
    """Where the person is a member."""
    return Organisation.objects.filter(memberships__person=person).order_by("name")


def has_second_factor(person: Person) -> bool:
    """Whether more than a password is asked for at the sign-in."""
    return bool(Authenticator.objects.filter(user=person).exists())


def invitations_open(access: Access, now: datetime) -> QuerySet[Invitation]:
    """Whoever has been asked to join and has not answered yet."""
    waiting = access.invitations().filter(ended_at__isnull=True, expires_at__gt=now)
    return waiting.select_related("by")


def tokens_open(person: Person) -> int:
    """How many programmes may speak for them."""
    return ApiToken.objects.filter(membership__person=person, ended_at__isnull=True).count()


LATEST = 10  # sign-ins shown to their person


def sign_ins_of(person: Person) -> QuerySet[SignIn]:
    """The latest of one's own sign-ins."""
    return SignIn.objects.filter(person=person)[:LATEST]


def operators() -> QuerySet[Operator]:
    """Everybody who runs the installation or has."""
    return Operator.objects.select_related("person", "given_by", "ended_by").order_by("ended_at", "given_at")


def organisations_listed() -> QuerySet[Organisation]:
    """All of them by name, and whether each has a manager (``managed``); nothing of their records."""
    managers = Membership.objects.filter(organisation=OuterRef("pk"), role=Role.MANAGER)
    return Organisation.objects.annotate(managed=Exists(managers)).order_by("name")


def sign_ins_listed() -> QuerySet[Person]:
    """Everybody with a sign-in, by address; not where they are members."""
    return Person.objects.filter(forgotten_on__isnull=True).order_by("email")
