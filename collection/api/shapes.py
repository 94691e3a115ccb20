"""What requests and answers have in common: limits, text, moments, pages of a list.

An answer is a promise: fields are added, never renamed. A shape for sending takes nothing unknown and coerces
nothing.
"""

import json
import re
from datetime import date
from typing import Annotated, Any

from django.db.models import QuerySet
from ninja import Field, Schema
from ninja.responses import NinjaJSONEncoder
from pydantic import AfterValidator, AwareDatetime, BeforeValidator, ConfigDict, StringConstraints

from collection.permissions import READ_PEOPLE

MOST_AT_ONCE, USUAL_AT_ONCE = 500, 100
LARGEST_ID = 2**63 - 1
FARTHEST = 10**6  # of an offset
PLAIN = r"^[^\x00]*$"  # PostgreSQL holds no null character
MOMENT = re.compile(r"\d{4}-\d\d-\d\d[Tt]\d\d:\d\d:\d\d(\.\d{1,9})?([Zz]|[+-]\d\d:\d\d)")
DIGITS = re.compile(r"[0-9]{1,19}")
CALENDAR = re.compile(r"\d{4}-\d\d-\d\d")


def _written(pattern: re.Pattern[str], what: str) -> BeforeValidator:
    """A value that must be text of a form; pydantic alone would take a number for a moment."""

    def check(value: Any) -> Any:
        if not isinstance(value, str) or not pattern.fullmatch(value):
            raise ValueError(f"write {what}")
        return value

    return BeforeValidator(check)


def _whole(value: Any) -> Any:
    """A number in an address: digits and nothing else."""
    if isinstance(value, str) and not DIGITS.fullmatch(value):
        raise ValueError("write a whole number in digits")
    return value


Whole = BeforeValidator(_whole)
Id = Annotated[int, Field(ge=1, le=LARGEST_ID, description="Its number."), Whole]
Limit = Annotated[int, Field(ge=1, le=MOST_AT_ONCE, description="How many at once."), Whole]
Offset = Annotated[int, Field(ge=0, le=FARTHEST, description="How many to leave out."), Whole]
Moment = Annotated[AwareDatetime, _written(MOMENT, "a moment with its zone, such as 2026-11-25T09:30:00Z")]
Day = Annotated[date, _written(CALENDAR, "a day, such as 2026-11-25")]
Text = Annotated[str, StringConstraints(strict=True, pattern=PLAIN)]
Search = Annotated[str, StringConstraints(pattern=PLAIN, max_length=100)]


def _near(day: date) -> date:
    """A day that can be reckoned with: nothing lies before the first motor car, or far ahead."""
    return min(max(day, date(1885, 1, 1)), date(2200, 1, 1))


NearDay = Annotated[Day, AfterValidator(_near)]


class Sent(Schema):
    """The base of everything that is sent: no coercion, nothing unknown."""

    model_config = ConfigDict(extra="forbid", strict=True)


class Page(Schema):
    """Part of a list."""

    total: int = Field(description="How many there are in all.", examples=[42])
    limit: int = Field(examples=[USUAL_AT_ONCE])
    offset: int = Field(examples=[0])


def page(rows: "QuerySet[Any] | list[Any]", limit: int, offset: int) -> dict[str, Any]:
    """The asked part of a list with its total: two queries, or none for a list at hand."""
    total = rows.count() if isinstance(rows, QuerySet) else len(rows)
    return {"items": list(rows[offset : offset + limit]), "total": total, "limit": limit, "offset": offset}


def as_sent(told: Schema) -> dict[str, Any]:
    """An answer as it goes out, to be kept: other lists write moments in the same way."""
    plain: dict[str, Any] = json.loads(json.dumps(told.model_dump(), cls=NinjaJSONEncoder))
    return plain


def _known(value: Any) -> Any:
    """What the record leaves empty is null."""
    return None if value == "" else value


Known = Annotated[str | None, BeforeValidator(_known)]


class Whom(Schema):
    """A person; the name only with the scope read:people."""

    id: int = Field(examples=[7])
    name: str | None = Field(description="null without the scope read:people.", examples=["Ada Wren"])


def whom(person: Any, context: Any) -> dict[str, Any]:
    """A person or an owner as the token may know them."""
    named = context["request"].access.holds(READ_PEOPLE)
    return {"id": person.pk, "name": str(person) if named else None}
