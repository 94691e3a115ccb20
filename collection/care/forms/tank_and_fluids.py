"""At the tank and the fluids: where a choice comes from the core's tables of materials."""

from django import forms

from collection.care.forms.base import CareForm
from collection.life.core.choices import fluid_types, fuel_grades
from collection.models import CareKind, FluidKind
from scheduler.vocabulary.fluids import FLUID


class FuelAddedForm(CareForm):
    """Fresh fuel."""

    kind = CareKind.FUEL_ADDED

    def fit(self) -> None:
        """The grades that the forecast knows."""
        grades = [("", "Not known"), *fuel_grades()]
        self.fields["grade"] = forms.ChoiceField(label="Grade", required=False, choices=grades)


class FluidChangedForm(CareForm):
    """One fluid, changed."""

    kind = CareKind.FLUID_CHANGED

    fluid = forms.ChoiceField(choices=[("", "Choose"), *FluidKind.choices])

    def fit(self) -> None:
        """Types of the fluid that is due, or of each."""
        due = self.car.duty if self.car.duty in FLUID else ""
        if due:
            self.initial["fluid"] = due
        if due and self.car.short:
            self.fields["fluid"].widget = forms.HiddenInput()
            if not FLUID[due].takes_glycol:
                del self.fields["glycol_pct"]
        kinds = [due] if due and self.car.short else list(FLUID)
        groups = [(FLUID[kind].title, types) for kind in kinds if (types := fluid_types(kind))]
        self.fields["type"] = forms.ChoiceField(
            label="Type", required=False, choices=[("", "Not known"), *groups]
        )
