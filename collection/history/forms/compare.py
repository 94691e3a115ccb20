"""Which cars to put side by side."""

from typing import Any

from django import forms
from django.db.models import QuerySet

from collection.history.side_by_side import MOST
from collection.models import Vehicle
from collection.web.measures import PlainForm, Several


class CompareForm(PlainForm):
    """Two to six cars; one alone is a beginning, to which others are added."""

    car = Several(
        Vehicle.objects.none(),
        label="Cars",
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": "Tick the cars to compare: two to six.",
            "invalid_choice": "That car is not among yours: choose from the list.",
            "invalid_pk_value": "That car is not among yours: choose from the list.",
        },
    )

    def __init__(self, *args: Any, cars: "QuerySet[Vehicle]", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["car"].queryset = cars.order_by("marque", "model", "year", "pk")  # type: ignore[attr-defined]

    def clean_car(self) -> "QuerySet[Vehicle]":
        """No more than fit a page."""
        chosen: QuerySet[Vehicle] = self.cleaned_data["car"]
        if chosen.count() > MOST:
            raise forms.ValidationError(f"{MOST} cars at most fit side by side: untick some.")
        return chosen
