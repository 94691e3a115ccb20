"""What requests and answers have in common: limits, text, moments, pages of a list.

An answer is a promise: fields are added, never renamed. A shape for sending takes nothing unknown and coerces
nothing.
"""

import json
import re
from datetime import UTC, date, datetime, timedelta
from typing import Annotated, Any

from django.db.models import QuerySet, TextChoices
from ninja import Field, Schema
from ninja.responses import NinjaJSONEncoder
from pydantic import AfterValidator, AwareDatetime, BeforeValidator, ConfigDict, StringConstraints

from collection.permissions import READ_PEOPLE

MOST_AT_ONCE, USUAL_AT_ONCE = 500, 100
LARGEST_ID = 2**63 - 1
FARTHEST = 10**6  # of an offset
PLAIN = r"^[^\x00]*$"  # PostgreSQL holds no null character
# RFC 3339, section 5.6; of what has this form and is no moment, such as 30 February, the reading complains
MOMENT = re.compile(
    r"([0-9]{4}-[0-9]{2}-[0-9]{2}T(?:[01][0-9]|2[0-3]):[0-5][0-9]:)([0-9]{2})"
    r"((?:\.[0-9]{1,18})?(?:Z|[+-][0-9]{2}:[0-5][0-9]))"
)
LEAP = "60"  # the second that clocks put in now and then
DIGITS = re.compile(r"[0-9]{1,19}")
CALENDAR = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


def _read_moment(value: Any) -> datetime:
    """Text of RFC 3339 as a moment: read here, since what is sent is otherwise taken as it is, unread."""
    match = MOMENT.fullmatch(value.upper()) if isinstance(value, str) else None
    if match is None:
        raise ValueError("write a moment with its offset, such as 2026-11-25T09:30:00+01:00")
    minute, second, rest = match.groups()
    try:
        leap = timedelta(seconds=1) if second == LEAP else timedelta()
        moment = datetime.fromisoformat(f"{minute}59{rest}" if leap else minute + second + rest) + leap
        return moment.astimezone(UTC)  # a database may know no offset of 16 hours
    except (ValueError, OverflowError) as fault:
        raise ValueError("there is no such moment: check day, time and offset") from fault


def _check_calendar(value: Any) -> Any:
    """A day must be text; pydantic alone would take a number for one."""
    if not isinstance(value, str) or not CALENDAR.fullmatch(value):
        raise ValueError("write a day, such as 2026-11-25")
    return value


def _whole(value: Any) -> Any:
    """A number in an address: digits and nothing else."""
    if isinstance(value, str) and not DIGITS.fullmatch(value):
        raise ValueError("write a whole number in digits")
    return value


Whole = BeforeValidator(_whole)
Id = Annotated[int, Field(ge=1, le=LARGEST_ID, description="Its number."), Whole]
Limit = Annotated[int, Field(ge=1, le=MOST_AT_ONCE, description="How many at once."), Whole]
Offset = Annotated[int, Field(ge=0, le=FARTHEST, description="How many to leave out."), Whole]
Moment = Annotated[AwareDatetime, BeforeValidator(_read_moment)]
Day = Annotated[date, BeforeValidator(_check_calendar)]
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


def page(rows: QuerySet[Any], limit: int, offset: int) -> dict[str, Any]:
    """The asked part of a list with its total: counted and cut by the database, in two queries."""
    return {
        "items": list(rows[offset : offset + limit]),
        "total": rows.count(),
        "limit": limit,
        "offset": offset,
    }


def as_json(answer: Schema) -> dict[str, Any]:
    """An answer as plain values, to be kept; moments are written as everywhere else."""
    plain: dict[str, Any] = json.loads(json.dumps(answer.model_dump(), cls=NinjaJSONEncoder))
    return plain


def _known(value: Any) -> Any:
    """What the record leaves empty is null."""
    return None if value == "" else value


Known = Annotated[str | None, BeforeValidator(_known)]


def known_code(codes: type[TextChoices]) -> BeforeValidator:
    """A recorded code; null where it is none of those known, so that the rest of the list is read."""
    return BeforeValidator(lambda value: value if value in codes.values else None)


class Whom(Schema):
    """A person; the name only with the scope read:people."""

    id: int = Field(examples=[7])
    name: str | None = Field(description="null without the scope read:people.", examples=["Ada Wren"])


def describe_person(person: Any, context: Any) -> dict[str, Any]:
    """A person or an owner as the token may know them."""
    named = context["request"].access.holds(READ_PEOPLE)
    return {"id": person.pk, "name": str(person) if named else None}
