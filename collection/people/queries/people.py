"""Members and owners of an organisation, and the organisations of a person."""

from allauth.mfa.models import Authenticator
from django.db.models import Count, Q, QuerySet

from collection.models import Membership, Organisation, Owner, Person
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
