"""Keys, alarms and addresses."""

from django import forms

from collection.models import CarNotes, SiteNotes
from collection.web.measures import RecordForm

LINES = forms.Textarea({"rows": 3})


class CarNotesForm(RecordForm):
    """Where a car's keys are and what guards it."""

    class Meta(RecordForm.Meta):
        model = CarNotes
        fields = ("keys_at", "alarm")
        widgets = {"alarm": LINES}  # noqa: RUF012 - Django's way


class SiteNotesForm(RecordForm):
    """Where a site is, how one gets in, what guards it."""

    class Meta(RecordForm.Meta):
        model = SiteNotes
        fields = ("address", "way_in", "alarm")
        widgets = {"address": LINES, "way_in": LINES, "alarm": LINES}  # noqa: RUF012 - Django's way
