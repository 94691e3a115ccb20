"""The day on which a car is wanted, and what for."""

from django import forms

from collection.web.measures import DayInput, PlainForm


class ReadyForm(PlainForm):
    """A day and a few words."""

    day = forms.DateField(label="Ready by", widget=DayInput, help_text="Its work is done by the day before.")
    purpose = forms.CharField(label="What for", max_length=60, help_text="A drive, a show, a viewing.")
