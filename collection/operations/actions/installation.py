"""Open a new installation: its organisation and its first manager."""

from django.contrib.auth.password_validation import validate_password
from django.db import transaction

from collection.models import Membership, Organisation, Person, Role


def is_new() -> bool:
    """Whether nobody can sign in yet."""
    return not Person.objects.exists()


@transaction.atomic
def open_installation(*, organisation: str, name: str, email: str, password: str) -> Person:
    """Make the organisation and its first manager; ValidationError names each faulty field."""
    barn = Organisation(name=organisation.strip())
    barn.full_clean()
    person = Person(email=email.strip().lower(), name=name.strip(), is_staff=True, is_superuser=True)
    person.full_clean(exclude=["password"])
    validate_password(password, person)
    person.set_password(password)
    barn.save()
    person.save()
    Membership.objects.create(person=person, organisation=barn, role=Role.MANAGER)
    return person
