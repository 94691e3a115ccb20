"""Typing in what was written on the paper worksheet: a row a task, all of one car at once."""

from datetime import date, datetime, time, tzinfo
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict

from collection.care.forms.base import AtTheCar, CareForm
from collection.care.forms.registry import KIND_FORMS
from collection.care.forms.steps import at_the_step
from collection.care.forms.words import REASONS, NotDoneForm
from collection.life.duties import DutyLine
from collection.web.measures import DayInput, PlainForm

DONE, NOT_DONE = "done", "not done"
NOON = time(12)


class WalkForm(PlainForm):
    """Who walked the round, and when; said once and carried from car to car."""

    on = forms.DateField(label="Done on", widget=DayInput())
    walked = forms.CharField(label="Walked by", required=False, max_length=60)

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.fields["on"].widget.attrs["max"] = today.isoformat()

    def clean_on(self) -> date:
        """Not yet to come."""
        on: date = self.cleaned_data["on"]
        if on > self.today:
            raise ValidationError("This is in the future: give the day of the round.")
        return on

    def done_at(self, zone: tzinfo, now: datetime) -> datetime:
        """Paper gives the day: noon of it, or now where noon is yet to come."""
        return min(now, datetime.combine(self.cleaned_data["on"], NOON, zone))

    def note(self) -> str:
        """Where the entry comes from."""
        walked = self.cleaned_data["walked"]
        return f"From the paper worksheet, walked by {walked}." if walked else "From the paper worksheet."


class ResultForm(PlainForm):
    """What became of a task."""

    result = forms.ChoiceField(
        required=False, choices=[("", "–"), (DONE, "done"), (NOT_DONE, "not done")], label="Result"
    )
    reason = forms.ChoiceField(
        required=False, choices=[("", "–"), *((r, r) for r in REASONS)], label="Why not"
    )


class Row:
    """One task: its result, and the readings that belong to it. What is left empty stays open."""

    def __init__(self, line: DutyLine, car: AtTheCar, data: Any) -> None:
        duty = line.duty
        self.line = line
        self.result = ResultForm(data, prefix=duty, auto_id=f"{duty}-%s")
        self.form = at_the_step(KIND_FORMS[line.care_kind](data, car=car, prefix=duty, auto_id=f"{duty}-%s"))
        self.form.use_required_attribute = False
        self.data = data

    @property
    def outcome(self) -> str:
        """Done, not done or left open; a reading that was typed says that it was done."""
        chosen: str = self.result.cleaned_data["result"]
        typed = set(self.form.changed_data) - {"key"}
        return chosen or (NOT_DONE if self.result.cleaned_data["reason"] else DONE if typed else "")

    def to_log(self) -> CareForm | None:
        """The form that says what to log; None when the task stays open."""
        if not self.result.is_valid() or not self.outcome:
            return None
        if self.outcome == DONE:
            return self.form
        reason = self.result.cleaned_data["reason"] or REASONS[-1]
        values = {
            "duty": self.line.duty,
            "reason": reason,
            "words": self.data.get(f"{self.form.prefix}-note", ""),
        }
        key = self.data.get(self.form.add_prefix("key"), "")
        return at_the_step(NotDoneForm(as_query(values | {"key": key}), car=self.form.car))


def as_query(values: dict[str, str]) -> QueryDict:
    """Plain values as a browser would have sent them."""
    query = QueryDict(mutable=True)
    query.update(values)
    return query
