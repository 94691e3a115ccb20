"""Which labels, on which sheet."""

from typing import Any

from django import forms

from collection.models import Site, Vehicle
from collection.permissions import Access
from collection.round.label_paper import BY_KEY, SHEETS
from collection.web.measures import PlainForm

CARS, BAYS = "cars", "bays"


class LabelsForm(PlainForm):
    """Cars or bays, of a site or one car, on a sheet of a common size, begun at a place on it."""

    what = forms.ChoiceField(
        label="Labels for", choices=[(CARS, "cars"), (BAYS, "bays")], widget=forms.RadioSelect
    )
    site: "forms.ModelChoiceField[Site]" = forms.ModelChoiceField(
        None, required=False, empty_label="all sites"
    )
    car: "forms.ModelChoiceField[Vehicle]" = forms.ModelChoiceField(
        None, required=False, empty_label="every car", label="One car only"
    )
    sheet = forms.ChoiceField(choices=[(sheet.key, sheet.name) for sheet in SHEETS])
    first = forms.IntegerField(
        label="Begin at label",
        min_value=1,
        initial=1,
        help_text="For a sheet of which some are used: 1 is top left.",
    )

    def __init__(self, *args: Any, access: Access, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["site"].queryset = access.sites()  # type: ignore[attr-defined]  # a ModelChoiceField
        self.fields["car"].queryset = access.vehicles().filter(left_on__isnull=True)  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """The place must be on the sheet."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        sheet = BY_KEY.get(cleaned.get("sheet", ""))
        if sheet and cleaned.get("first", 1) > sheet.count:
            self.add_error("first", f"This sheet has {sheet.count} labels: give 1 to {sheet.count}.")
        return cleaned
