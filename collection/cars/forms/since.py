"""Since when it is so, what is saved on a page of the record."""

from datetime import date
from typing import Any

from django import forms

from collection.models import Basis
from collection.web.measures import DayInput, PlainForm, offer


class SinceForm(PlainForm):
    """Asked below every part of a record that is kept already; read as parts of an ``Edit``."""

    since = forms.DateField(
        label="So since",
        required=False,
        widget=DayInput,
        help_text="The day from which what you changed is so; what has a day of its own counts from that.",
    )
    corrects = forms.BooleanField(
        label="It was never otherwise: this corrects what was written down",
        required=False,
        help_text="Then it counts from where the mistake did, and the day above is not used.",
    )
    basis = forms.ChoiceField(label="How it is known", required=False)

    def __init__(self, *args: Any, since: date, **kwargs: Any) -> None:
        super().__init__(*args, initial={"since": since}, **kwargs)
        offer(self.fields["basis"], Basis.choices)
