"""Oils, coolant and brake fluid: changed, or tested."""

from typing import ClassVar

from django import forms

from collection.bridge.choices import fluid_types
from collection.forms.care.base import CareForm
from collection.forms.care.fields import detail, reading
from collection.models import CareKind, FluidKind, Quantity


class FluidChangedForm(CareForm):
    """One fluid, changed."""

    kind = CareKind.FLUID_CHANGED
    verb = "Log the change"
    few: ClassVar = ("fluid", "type", "glycol_pct")

    fluid = forms.ChoiceField(choices=[("", "Choose"), *FluidKind.choices])
    type = forms.ChoiceField(required=False)
    glycol_pct = detail(CareKind.FLUID_CHANGED, "glycol_pct", help_text="Coolant only.")

    def fit(self) -> None:
        """Types of the fluid that is due, or of each."""
        due = self.car.duty if self.car.duty in FluidKind.values else ""
        if due:
            self.initial["fluid"] = due
        if due and self.car.short:
            self.fields["fluid"].widget = forms.HiddenInput()
            if due != FluidKind.COOLANT:
                del self.fields["glycol_pct"]
        kinds = [due] if due and self.car.short else FluidKind.values
        groups = [(FluidKind(kind).label, fluid_types(kind)) for kind in kinds]
        self.fields["type"] = forms.ChoiceField(
            label="Type", required=False, choices=[("", "Not known"), *groups]
        )


class FluidReadingForm(CareForm):
    """A strip, a meter, a refractometer."""

    kind = CareKind.FLUID_READING
    verb = "Log the reading"
    hint = "Give what was measured; one value is enough."

    brake_water = reading(Quantity.BRAKE_WATER)
    coolant_freeze_point = reading(Quantity.COOLANT_FREEZE_POINT, help_text="By refractometer.")

    def field_of(self, name: str) -> str:
        """A missing reading is shown at the first field."""
        return "brake_water" if name == "readings" else super().field_of(name)
