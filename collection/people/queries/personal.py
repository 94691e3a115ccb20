"""Everything that is kept about one person, for that person to take away."""

from typing import Any

from django.db import models

from collection.models import Membership, Organisation, Owner, Person

Facts = dict[str, Any]
# what guards a sign-in is no knowledge about the person, and no file should carry it
SECRET = (
    "password",
    "token",
    "secret",
    "digest",
    "session_key",
    "token_digest",
    "data",
    "user_agent_hash",
    "device",
)


# how a row that names somebody leads to its organisation; other rows belong to the person alone
TO_ORGANISATION = ("organisation", "vehicle__organisation", "site__organisation", "membership__organisation")


def about_person(person: Person, here: Organisation | None = None) -> Facts:
    """The person's own row and every row that names them or hangs on a membership of theirs, by its table.

    With an organisation, only what belongs to that organisation: what it may hand to a member who asks.
    """
    rows = {
        _title(relation.related_model): [_facts(row) for row in _rows(relation, person, here)]
        for relation in Person._meta.related_objects
    } | {
        _title(relation.related_model): [
            _facts(row) for row in _rows(relation, person, here, "membership__person")
        ]
        for relation in Membership._meta.related_objects
    }
    return {"person": _facts(person)} | {title: facts for title, facts in rows.items() if facts}


def _rows(relation: Any, person: Person, here: Organisation | None, by: str = "") -> "models.QuerySet[Any]":
    named = {by or relation.field.name: person}
    rows: models.QuerySet[Any] = relation.related_model._base_manager.filter(**named)
    if here:
        fields = {field.name for field in relation.related_model._meta.concrete_fields}
        ways = [way for way in TO_ORGANISATION if way.partition("__")[0] in fields]
        rows = rows.filter(**{ways[0]: here}) if ways else rows.none()
    return rows.select_related().order_by("pk")


def about_owner(owner: Owner) -> Facts:
    """An owner of cars who may never have signed in, with their cars."""
    cars = owner.vehicles.order_by("pk").values("marque", "model", "year", "registration", "chassis_number")
    return {"owner": _facts(owner), "cars": list(cars)}


def _title(model: type[models.Model]) -> str:
    return str(model._meta.verbose_name_plural)


def _facts(row: models.Model) -> Facts:
    fields = [field for field in row._meta.concrete_fields if field.name not in SECRET]
    return {str(field.verbose_name): _value(row, field) for field in fields}


def _value(row: models.Model, field: "models.Field[Any, Any]") -> Any:
    value = getattr(row, field.name)
    return str(value) if isinstance(value, models.Model) else value
