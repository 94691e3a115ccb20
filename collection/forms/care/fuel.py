"""At the tank: stabiliser, filling, draining."""

from typing import ClassVar

from django import forms

from collection.bridge.choices import fuel_grades
from collection.forms.care.base import CareForm
from collection.forms.care.fields import detail
from collection.models import CareKind


class StabiliserForm(CareForm):
    """A dose into the fuel that is in the tank."""

    kind = CareKind.STABILISER
    verb = "Log the stabiliser"
    few: ClassVar = ("litres", "dose_ml")

    litres = detail(CareKind.STABILISER, "litres", label="Fuel treated")
    dose_ml = detail(CareKind.STABILISER, "dose_ml")
    ratio = detail(CareKind.STABILISER, "ratio", help_text="From the label: 500 means 1 part to 500.")


class FuelAddedForm(CareForm):
    """Fresh fuel."""

    kind = CareKind.FUEL_ADDED
    verb = "Log the fuel"

    litres = detail(CareKind.FUEL_ADDED, "litres", label="Added")
    grade = forms.ChoiceField(required=False)
    bio_pct = detail(
        CareKind.FUEL_ADDED, "bio_pct", help_text="Petrol: ethanol. Diesel: FAME. As on the pump."
    )

    def fit(self) -> None:
        """The grades that the forecast knows."""
        self.fields["grade"] = forms.ChoiceField(
            label="Grade", required=False, choices=[("", "Not known"), *fuel_grades()]
        )


class FuelDrainedForm(CareForm):
    """Old fuel out."""

    kind = CareKind.FUEL_DRAINED
    verb = "Log the draining"
    few: ClassVar = ("emptied", "litres")

    emptied = forms.BooleanField(label="Tank emptied", required=False, initial=True)
    litres = detail(CareKind.FUEL_DRAINED, "litres", label="Drained")
