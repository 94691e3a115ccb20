"""Open a new installation: its organisation and its first manager, who is its first operator too."""

from django.contrib.auth.password_validation import validate_password
from django.db import transaction
from django.utils import timezone

from collection.models import Membership, Operator, Organisation, Person, Role


def is_new() -> bool:
    """Whether nobody can sign in yet."""
    return not Person.objects.exists()


@transaction.atomic
def open_installation(*, organisation: str, name: str, email: str, password: str) -> Person:
    """Make the organisation, its manager and the operator; ValidationError names each faulty field."""
    barn = Organisation(name=organisation.strip())
    barn.full_clean()
    person = Person(email=email.strip().lower(), name=name.strip())
    person.full_clean(exclude=["password"])
    validate_password(password, person)
    person.set_password(password)
    barn.save()
    person.save()
    Membership.objects.create(person=person, organisation=barn, role=Role.MANAGER)
    Operator.objects.create(person=person, given_at=timezone.now())
    return person
