"""What things cost: one field a rate, empty for our default."""

from collections.abc import Mapping
from typing import Any

from django import forms

from collection.due.core.prices import terms
from collection.models import Organisation
from collection.web.measures import NumberField, PlainForm


class RatesForm(PlainForm):
    """Every rate with its default and its reason."""

    money = forms.CharField(
        label="Money",
        required=False,
        max_length=8,
        help_text="As it is written before an amount: £, €, SEK. Every rate is in this money.",
    )

    def __init__(
        self, *args: Any, organisation: Organisation, own: Mapping[str, float], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["money"].initial = organisation.money
        for term in terms():
            self.fields[term.name] = NumberField(
                label=f"{term.label}, {term.unit}",
                required=False,
                min_value=term.low,
                max_value=term.high,
                initial=own.get(term.name),
                help_text=f"{term.default:g} by our default (policy): {term.reason}.",
            )

    def own(self) -> dict[str, float]:
        """The rates that were typed."""
        typed = {term.name: self.cleaned_data[term.name] for term in terms()}
        return {name: value for name, value in typed.items() if value is not None}
