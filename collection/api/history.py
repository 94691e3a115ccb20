"""A car's storage history with the grade of each statement, and the file that proves it."""

from datetime import date, datetime
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from ninja import Field, Router, Schema

from collection.api.door import ApiRequest, operation
from collection.api.duties import Duty
from collection.api.shapes import Id
from collection.history import EVERYTHING, tell
from collection.life.refresh import recompute_stale
from collection.models import CareKind, Units
from collection.permissions import READ_LOG, READ_PEOPLE
from collection.proof.actions import export_history

router = Router(tags=["History and proof"])
GRADE = Field(ge=1, le=4, description="How well it is known: 1 a document, 2 a record, 3 a word, 4 inferred.")


def _name(words: str, context: Any) -> str | None:
    return words if words and context["request"].access.holds(READ_PEOPLE) else None


class By(Schema):
    """The base of whatever somebody did or wrote."""

    by: str | None = Field(description="null without the scope read:people.")

    @staticmethod
    def resolve_by(obj: Any, context: Any) -> str | None:
        """The name only with its scope."""
        return _name(obj.by, context)


class Stay(Schema):
    """A time in one place."""

    since: date | None
    until: date | None
    place: str
    under: str = Field(description="Its shelter and site.")
    air: str
    grade: int = GRADE
    air_grade: int = GRADE


class Fact(Schema):
    """A detail in words."""

    label: str
    value: str


class Done(By):
    """One entry as the history tells it."""

    day: date
    kind: CareKind
    title: str
    facts: list[Fact]
    note: str
    written_late: date | None
    grade: int = GRADE
    gone: str = Field(description="Whether it was corrected or withdrawn, in words.")
    instead: str

    @staticmethod
    def resolve_facts(obj: Any) -> list[dict[str, str]]:
        """Label and value."""
        return [{"label": label, "value": value} for label, value in obj.facts]


class RecordSaved(By):
    """One save of the car's record: what changed, in words."""

    day: date = Field(description="When it was written down.")
    changes: list[str]
    basis: str = Field(description="How it is known, in words; empty where nobody said.")
    grade: int = GRADE


class LastTold(Schema):
    """One of the five last times before the log."""

    event: str
    day: date
    basis: str
    grade: int = GRADE


class Hung(By):
    """A tag that hangs now."""

    words: str
    day: date


class Fault(By):
    """Something found that nobody has found mended."""

    day: date
    words: str
    grade: int = GRADE


class KeptTold(Schema):
    """How one duty was kept over the period, by what was known on each day."""

    duty: str
    title: str
    asked: int = Field(description="Times that it was asked for.")
    done: int
    in_window: int = Field(description="Of the times asked for, those answered within the window.")
    late: int = Field(description="Of the times asked for, those that went beyond the window.")
    longest_days: int
    total_days: int = Field(description="Days beyond its window in all.")
    still_days: int = Field(description="Of these, days of the wait that is still open.")
    by_now_days: int = Field(description="Days beyond its window in all, by what is known now.")
    held_days: int = Field(description="Days on which it was due and on hold.")
    hold: str
    unknown_days: int = Field(description="Days of which the record says nothing.")
    ended: dict[str, int] = Field(description="Times asked for, by what ended them.")
    words: str

    @staticmethod
    def resolve_ended(obj: Any) -> dict[str, int]:
        """By ending."""
        return dict(obj.ended)


class MissedTold(Schema):
    """A gap."""

    since: date
    until: date | None
    what: str
    grade: int = GRADE


class LimitTold(Schema):
    """How long a limit was exceeded."""

    key: str
    title: str
    said: str
    sure: str
    grade: int = GRADE


class DutyOfSystem(Schema):
    """One duty as it stands now, and why in a sentence."""

    duty: Duty = Field(validation_alias="line")
    when: str
    summary: str
    assumptions: list[str]


class SystemTold(Schema):
    """The duties of one system."""

    title: str
    duties: list[DutyOfSystem]


class PartTold(Schema):
    """One part that standing may have told on."""

    label: str
    words: str
    state: str
    reasons: str
    first_look: str
    do_not: str


class OutlookTold(Schema):
    """One system of the condition outlook."""

    title: str
    parts: list[PartTold]
    unknown: str = Field(description="Parts of which nobody knows, in words.")
    sound: str
    next: str
    repairs: str
    cost: str


class ConditionTold(Schema):
    """The condition outlook with what it may cost at your prices."""

    stood: str = Field(description="How long it has stood, as a sentence.")
    lines: list[OutlookTold]
    plan: str = Field(description="Cost of the steps of its recommissioning; empty of a car in care.")
    total: str


class SealTold(Schema):
    """What may be compared with the exported file."""

    entries: int
    head: str
    stated_at: datetime | None
    stated_to: int
    key: str


class StoryTold(Schema):
    """The storage history of one car."""

    car_id: int = Field(validation_alias="vehicle.pk")
    owner: str | None = Field(description="null without the scope read:people.")
    kept_by: str
    first: date
    last: date
    stays: list[Stay]
    doings: list[Done]
    record: list[RecordSaved]
    last_times: list[LastTold]
    tags: list[Hung]
    open_faults: list[Fault]
    kept: list[KeptTold]
    missed: list[MissedTold]
    limits: list[LimitTold]
    systems: list[SystemTold]
    condition: ConditionTold | None
    seal: SealTold | None
    fault: str = Field(description="What in the record kept something from being worked out.")

    @staticmethod
    def resolve_owner(obj: Any, context: Any) -> str | None:
        """The name only with its scope."""
        return _name(obj.owner, context)


@operation(
    router, "GET", "/cars/{car_id}/history", scope=READ_LOG, response=StoryTold, summary="Storage history"
)
def read_history(request: ApiRequest, car_id: Id) -> Any:
    """Stays, what was done, missed and exceeded, the state now; each with its grade; words in SI units."""
    car = request.access.vehicle(car_id)
    recompute_stale(request.access, request.today, request.access.only(car))
    return tell(car, today=request.today, units=Units.METRIC, scope=EVERYTHING)


@operation(
    router,
    "GET",
    "/cars/{car_id}/proof",
    scope=READ_LOG,
    response=dict[str, Any],
    summary="The file that proves it",
)
def read_proof(request: ApiRequest, car_id: Id) -> HttpResponse:
    """The chain of log and record with statements and signatures, to be verified by anybody. Needs
    read:people too: it names the authors."""
    if not request.access.holds(READ_PEOPLE):
        raise PermissionDenied(f"The file names its authors: this token lacks the scope {READ_PEOPLE}.")
    file = export_history(request.access.vehicle(car_id), now=request.now)
    return HttpResponse(file, content_type="application/json")
