"""A token for a programme."""

from datetime import date, datetime, time, timedelta
from typing import Any

from django import forms
from django.utils import timezone

from collection.web.measures import DayInput, PlainForm

A_YEAR = timedelta(days=365)


class TokenForm(PlainForm):
    """What it is for, what it may do, until when."""

    name = forms.CharField(
        label="What it is for", max_length=80, help_text="So that you know later which one to end."
    )
    scopes = forms.MultipleChoiceField(label="It may", widget=forms.CheckboxSelectMultiple)
    ends = forms.DateField(
        label="Ends after", required=False, widget=DayInput, help_text="Empty: only when you end it."
    )

    def __init__(self, *args: Any, scopes: dict[str, str], today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["scopes"].choices = list(scopes.items())  # type: ignore[attr-defined]
        self.fields["ends"].initial = today + A_YEAR

    def expires_at(self) -> datetime | None:
        """The end of the last day, in the zone in force."""
        ends: date | None = self.cleaned_data["ends"]
        if ends is None:
            return None
        return timezone.make_aware(datetime.combine(ends + timedelta(days=1), time.min))

    def clean_ends(self) -> date | None:
        """A day with a day after it."""
        ends: date | None = self.cleaned_data["ends"]
        if ends and ends >= date(9999, 1, 1):
            raise forms.ValidationError("This day is too far off: leave it empty for no end.")
        return ends
