"""Running the engine."""

from typing import ClassVar

from django import forms

from collection.forms.care.base import CareForm
from collection.forms.care.fields import detail, reading
from collection.models import CareKind, Quantity


class RunUpForm(CareForm):
    """A run; whether it counts as a full-warm one follows from what is ticked."""

    kind = CareKind.RUN_UP
    verb = "Log the run-up"
    hint = "It counts as a run-up when driven until fully warm. A short idle is logged, and does not count."
    few: ClassVar = ("minutes", "driven", "reached_temperature", "distance_km", "charging_volts")

    minutes = detail(CareKind.RUN_UP, "minutes")
    driven = forms.BooleanField(label="Driven, not only stationary", required=False)
    reached_temperature = forms.BooleanField(label="Reached full temperature", required=False)
    distance_km = detail(CareKind.RUN_UP, "distance_km")
    charging_volts = reading(Quantity.CHARGING_VOLTS, help_text="Warm, at a fast idle.")
    oil_pressure = reading(Quantity.OIL_PRESSURE, help_text="Warm, at idle.")
