"""Round the car with the gauge."""

from typing import ClassVar

from django import forms

from collection.actions import care_rules as rules
from collection.forms.care.base import CareForm
from collection.forms.care.fields import MeasureField, reading
from collection.models import CareKind, Quantity, TyrePosition


def _at(position: TyrePosition) -> MeasureField:
    return reading(Quantity.TYRE_PRESSURE, position.value, label=position.label)


class TyrePressuresForm(CareForm):
    """Pressures as found, wheel by wheel."""

    kind = CareKind.TYRE_PRESSURES
    verb = "Log the pressures"
    hint = "As found, before topping up, tyres cold."
    few: ClassVar = (
        "tyre_pressure_front_left",
        "tyre_pressure_front_right",
        "tyre_pressure_rear_right",
        "tyre_pressure_rear_left",
        "topped_up",
    )

    tyre_pressure_front_left = _at(TyrePosition.FRONT_LEFT)
    tyre_pressure_front_right = _at(TyrePosition.FRONT_RIGHT)
    tyre_pressure_rear_right = _at(TyrePosition.REAR_RIGHT)
    tyre_pressure_rear_left = _at(TyrePosition.REAR_LEFT)
    tyre_pressure_spare = _at(TyrePosition.SPARE)
    temperature_c = MeasureField(rules.TEMPERATURE, label="Tyre temperature")
    topped_up = forms.BooleanField(label="Topped up to the placard", required=False)

    def field_of(self, name: str) -> str:
        """A missing reading is shown at the first wheel."""
        return "tyre_pressure_front_left" if name == "readings" else super().field_of(name)
