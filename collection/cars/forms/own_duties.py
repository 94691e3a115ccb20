"""A duty that a keeper adds: a usual one by name, or anything typed."""

from typing import Any

from django import forms

from collection.cars.forms.rules import IntervalFields
from collection.models import OwnDuty
from collection.web.measures import DayInput, Groups, WholeInput
from scheduler.vocabulary.own_duties import OWN_KINDS

PAPERS = [(row.code, row.title) for row in OWN_KINDS if row.paper]
WORK = [(row.code, row.title) for row in OWN_KINDS if not row.paper]


class OwnDutyForm(IntervalFields):
    """What, when, how long before it is told, how long it takes."""

    kind = forms.ChoiceField(label="Kind", choices=[("Papers", PAPERS), ("Work", WORK)])
    title = forms.CharField(
        label="What", required=False, max_length=60, help_text="Empty is the name of its kind."
    )
    due_on = forms.DateField(label="Due on", required=False, widget=DayInput)
    remind_days = forms.IntegerField(
        label="Days of warning", min_value=0, max_value=366, initial=30, widget=WholeInput
    )
    minutes = forms.IntegerField(
        label="Minutes at the car",
        required=False,
        min_value=1,
        max_value=480,
        widget=WholeInput,
        help_text="With minutes it is planned as work; without, it stands in the lists only.",
    )
    note = forms.CharField(label="Note", required=False, max_length=200)

    GROUPS: Groups = (
        ("What", ("kind", "title", "note")),
        ("When", ("due_on", "number", "unit", "remind_days")),
        ("Work", ("minutes",)),
    )
    FIELDS = ("kind", "title", "due_on", "remind_days", "minutes", "note")

    def __init__(self, *args: Any, duty: OwnDuty, **kwargs: Any) -> None:
        self.duty = duty
        initial = {name: getattr(duty, name) for name in self.FIELDS} if duty.pk else {}
        super().__init__(*args, interval=duty.interval, initial=initial, **kwargs)
        self.fields["number"].label = "Again every"
        self.fields["number"].help_text = "Counts from the day it was done; empty if only once."

    def fill(self) -> None:
        """Write what was typed into the duty."""
        for name in (*self.FIELDS, "interval"):
            setattr(self.duty, name, self.cleaned_data[name])

    def clean(self) -> dict[str, Any]:
        """The interval in the form in which it is kept."""
        sent: dict[str, Any] = super().clean() or self.cleaned_data
        sent["interval"] = self.interval()
        return sent


class NewOwnDutyForm(OwnDutyForm):
    """For one car, or for every car like it."""

    alike = forms.BooleanField(label="Add it to every car of this make and model", required=False)

    GROUPS: Groups = (*OwnDutyForm.GROUPS, ("Which cars", ("alike",)))
