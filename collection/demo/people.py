"""Who works in the demo barn and whose cars stand there. All invented."""

from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.hashers import make_password

from collection.models import Membership, Operator, Organisation, Owner, Person, Role, Units

ORGANISATION = "Kaldmere Barn"
PASSWORD = "kaldmere-demo"  # noqa: S105 - public on purpose; the demo never runs in production


@dataclass(frozen=True)
class SignIn:
    """A demo person; the password is public and the demo never runs in production."""

    name: str
    email: str
    role: str
    units: str = Units.METRIC
    password: str = PASSWORD


PEOPLE = (
    SignIn("Runa Aldersey", "manager@kaldmere.example", Role.MANAGER),
    SignIn("Tobias Henn", "staff@kaldmere.example", Role.STAFF),
    SignIn("Sanna Veldt", "sanna@kaldmere.example", Role.STAFF),
    SignIn("Odd Perrin", "odd@kaldmere.example", Role.STAFF, Units.BRITISH),
    SignIn("Imre Castellane", "owner@kaldmere.example", Role.OWNER),
    SignIn("Marek Dravec", "marek@kaldmere.example", Role.OWNER, Units.AMERICAN),
    SignIn("Wilma Strand", "viewer@kaldmere.example", Role.VIEWER),
)
SIGN_INS = tuple(next(person for person in PEOPLE if person.role == role) for role in Role.values)

OWNERS = {
    "Imre Castellane": "owner@kaldmere.example",
    "Hedda Quist": "prefers a letter",
    "Marek Dravec": "marek@kaldmere.example",
    "Barnaby Thole": "telephone after six",
    "Ysolde Fennimore": "ysolde@fennimore.example",
    "The Ostlin Trust": "trustees@ostlin.example",
    "Kaldmere Motor House": "sales@motorhouse.example",
}


@dataclass(frozen=True)
class Cast:
    """The people as stored."""

    keepers: list[Person]  # staff, in the order of PEOPLE
    manager: Person
    owners: dict[str, Owner]


def add_people(organisation: Organisation, now: datetime) -> Cast:
    """Everybody with their roles, the manager as operator too, and the owners, two of whom sign in."""
    people = {}
    hashed = make_password(PASSWORD)  # once: it is slow on purpose, and nobody's secret
    for one in PEOPLE:
        person = Person.objects.create(email=one.email, password=hashed, name=one.name, units=one.units)
        Membership.objects.create(person=person, organisation=organisation, role=one.role)
        people[one.name] = person
    owners = {
        name: Owner.objects.create(
            organisation=organisation, name=name, contact=contact, person=people.get(name)
        )
        for name, contact in OWNERS.items()
    }
    manager = people[PEOPLE[0].name]
    Operator.objects.create(person=manager, given_at=now)
    keepers = [people[one.name] for one in PEOPLE if one.role == Role.STAFF]
    return Cast(keepers, manager, owners)
