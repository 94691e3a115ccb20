"""At the battery: charging, the maintainer, volts and acid."""

from typing import ClassVar

from django import forms

from collection.actions import care_rules as rules
from collection.forms.care.base import CareForm
from collection.forms.care.fields import MILLIAMPERES, MeasureField, detail, reading
from collection.models import CareKind, Quantity

CELLS_A_VOLT = 0.5  # lead-acid: 2 V a cell


class ChargeForm(CareForm):
    """A charge from start to end."""

    kind = CareKind.CHARGE
    verb = "Log the charge"
    few: ClassVar = ("rested_volts", "completed")

    rested_volts = reading(Quantity.RESTED_VOLTS, help_text="Before the charge, rested, nothing switched on.")
    completed = forms.BooleanField(label="Charged in full", required=False, initial=True)
    hours = detail(CareKind.CHARGE, "hours")
    amps = detail(CareKind.CHARGE, "amps")


class MaintainerForm(CareForm):
    """The small charger that stays on."""

    kind = CareKind.MAINTAINER
    verb = "Log the maintainer"

    state = forms.ChoiceField(
        label="The maintainer is now",
        widget=forms.RadioSelect,
        choices=[("on", "On"), ("off", "Off"), ("lost_power", "Found without power")],
    )


class BatteryReadingForm(CareForm):
    """Volts, acid and drain; each is worth having alone."""

    kind = CareKind.BATTERY_READING
    verb = "Log the reading"
    hint = "Give what was measured; one value is enough. Rest the battery first, at best overnight."

    rested_volts = reading(Quantity.RESTED_VOLTS)
    rest_hours = MeasureField(rules.REST)
    temperature_c = MeasureField(rules.TEMPERATURE, label="Battery temperature")
    key_off_drain = reading(Quantity.KEY_OFF_DRAIN, own=MILLIAMPERES)
    specific_gravity_1 = reading(Quantity.SPECIFIC_GRAVITY, "1", label="Specific gravity, cell 1")
    specific_gravity_2 = reading(Quantity.SPECIFIC_GRAVITY, "2", label="Specific gravity, cell 2")
    specific_gravity_3 = reading(Quantity.SPECIFIC_GRAVITY, "3", label="Specific gravity, cell 3")
    specific_gravity_4 = reading(Quantity.SPECIFIC_GRAVITY, "4", label="Specific gravity, cell 4")
    specific_gravity_5 = reading(Quantity.SPECIFIC_GRAVITY, "5", label="Specific gravity, cell 5")
    specific_gravity_6 = reading(Quantity.SPECIFIC_GRAVITY, "6", label="Specific gravity, cell 6")

    def fit(self) -> None:
        """A 6 V battery has three cells."""
        cells = (self.car.vehicle.system_volts or 12) * CELLS_A_VOLT
        for cell in range(1, 7):
            if cell > cells:
                del self.fields[f"specific_gravity_{cell}"]

    def field_of(self, name: str) -> str:
        """A missing reading is shown at the first field."""
        return "rested_volts" if name == "readings" else super().field_of(name)
