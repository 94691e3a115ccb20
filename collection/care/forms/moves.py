"""Where the car went."""

from typing import Any, ClassVar

from django import forms

from collection.care.forms.base import CareForm
from collection.models import CareKind, Entry

SAME, ELSEWHERE = "same", "elsewhere"


class MovedForm(CareForm):
    """Rolled and put back, into another bay, or out of the bays."""

    kind = CareKind.MOVED
    own: ClassVar = ("place", "to_bay_label")

    place = forms.ChoiceField(label="It now stands")
    to_bay_label = forms.CharField(
        label="Where, if in no bay", required=False, max_length=100, help_text="Workshop, yard, on the road."
    )

    def fit(self) -> None:
        """The same place first, then free bays in walking order."""
        same = [(SAME, "in the same place, wheels turned")]
        bays = [(str(bay.pk), f"in {bay}") for bay in self.car.bays]
        away = [] if self.car.short else [(ELSEWHERE, "in no bay")]
        self.fields["place"] = forms.ChoiceField(label="It now stands", choices=[*same, *bays, *away])

    def details(self) -> dict[str, Any]:
        """The place as the log keeps it."""
        place = self.cleaned_data["place"]
        if place == SAME:
            return {"wheels_only": True}
        if place == ELSEWHERE:
            return {"wheels_only": False, "to_bay_label": self.cleaned_data["to_bay_label"]}
        return {"wheels_only": False, "to_bay": int(place)}

    def clean(self) -> dict[str, Any]:
        """No bay needs words."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        if cleaned.get("place") == ELSEWHERE and not cleaned.get("to_bay_label"):
            self.add_error("to_bay_label", "Say where the car stands now.")
        return cleaned

    def filled_from(self, entry: Entry) -> dict[str, Any]:
        """The place as the form shows it."""
        bay = entry.details.get("to_bay")
        place = SAME if entry.details.get("wheels_only") else str(bay or ELSEWHERE)
        words = entry.details.get("to_bay_label", "") if place == ELSEWHERE else ""
        return super().filled_from(entry) | {"place": place, "to_bay_label": words}

    def field_of(self, name: str) -> str:
        """Faults of the bay are shown at the place."""
        return "place" if name == "to_bay" else super().field_of(name)
