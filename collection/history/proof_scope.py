"""The exported history as a reader's scope allows; the rest verifies to the same signed statements.

What is withheld from the page is withheld here: notes, the bays where the car stood, files, what lies outside
the period, every field in which a withheld name stands, and the keeper's name where it leads to the place.
"""

from collections.abc import Collection, Iterator
from datetime import datetime
from typing import Any

from django.utils import timezone

from collection.chain.links import Facts
from collection.chain.withholding import DETAIL, WHOLE, fields_of, tells_of_place, value_of, withhold
from collection.history.scope import Scope
from collection.models import Pseudonym, ShareLink
from collection.proof.actions import export_history

OWNER = "the owner"
PHOTOGRAPH = "photograph"  # of the record: the digest of the one that is shown of the car


def shared_proof(share: ShareLink, scope: Scope, now: datetime) -> bytes | None:
    """The file for the holder of a link; None where the name of the car itself holds what is withheld."""
    owner = str(Pseudonym.objects.filter(person=scope.owner_person).values_list("token", flat=True).first())
    car = share.vehicle
    if any(_tells(told, scope) for told in (car.marque, car.model, car.chassis_number)):
        return None
    return export_history(car, now=now, without=lambda history: within(history, scope, owner))


def within(history: Facts, scope: Scope, owner: str) -> Facts:
    """The history without what the scope withholds; ``owner``: the owner's pseudonym."""
    plan = {entry["id"]: _gone(entry, scope) for entry in history["entries"]}
    left = withhold(history, plan, keeper=not scope.place)
    record = {name: value for name, value in left["record"].items() if scope.files or name != PHOTOGRAPH}
    return left | {"people": _people(history["people"], scope, owner), "record": record}


def _gone(entry: Facts, scope: Scope) -> Collection[str] | None:
    day = timezone.localtime(datetime.fromisoformat(entry["done_at"])).date()
    if not scope.covers(day):
        return WHOLE
    return [name for name in fields_of(entry) if _is_withheld(entry, name, scope)]


def _is_withheld(entry: Facts, name: str, scope: Scope) -> bool:
    value = value_of(entry, name)
    if not value:
        return False
    if name == "note" and not scope.notes:
        return True
    if name in ("attachments", f"{DETAIL}{PHOTOGRAPH}") and not scope.files:
        return True
    return (not scope.place and tells_of_place(entry, name)) or _tells(value, scope)


def _tells(value: object, scope: Scope) -> bool:
    """Whether a withheld name stands anywhere in a value."""
    return any(scope.said(text) != text for text in _texts(value))


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for name, item in value.items():
            yield from (name, *_texts(item))
    elif isinstance(value, list):
        for item in value:
            yield from _texts(item)


def _people(people: Facts, scope: Scope, owner: str) -> Facts:
    """Names by pseudonym; one that is withheld stands by what the person is, or not at all."""
    named = {token: OWNER if token == owner and not scope.owner else name for token, name in people.items()}
    return {token: name for token, name in named.items() if not _tells(name, scope)}
