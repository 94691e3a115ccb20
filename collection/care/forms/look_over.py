"""The first look at a car that has just come: some twelve fields, walking round it once.

Nothing is prefilled and nothing but leaks and rodents must be answered: what was not looked at stays
not known. What is measured becomes readings; the rest stands in the words of the inspection.
"""

from collections.abc import Sequence
from typing import Any
from uuid import uuid4

from django import forms

from collection.care.checks import limit_of
from collection.care.draft import Draft, Measured
from collection.care.forms.fields import fields_of
from collection.models import CareKind, Vehicle
from collection.web.measures import NOT_KNOWN, MeasureField, PlainForm, WholeInput
from collection.web.units import Edge
from scheduler.vocabulary.positions import TYRES

VOLTS = "rested_volts"
PRESSURES = tuple(f"tyre_pressure_{tyre.code}" for tyre in TYRES if tyre.code != "spare")
LEAK, RODENTS = "Leak under the car", "Droppings or nest"
NOT_LOOKED = ("", "Not looked at")
TANK = ("full", "about three quarters", "about half", "about a quarter", "nearly empty", "empty")


def _choice(label: str, *words: str, first: tuple[str, str]) -> forms.ChoiceField:
    choices = [first, *((word, word.capitalize()) for word in words)]
    return forms.ChoiceField(label=label, choices=choices, required=False)


def _seen(label: str, seen: str) -> forms.ChoiceField:
    return forms.ChoiceField(
        label=label, choices=[("none", "None seen"), ("found", seen)], widget=forms.RadioSelect
    )


class LookOverForm(PlainForm):
    """What a person sees and measures at a car of which nothing is known."""

    battery_code = forms.CharField(
        label="Battery date code",
        required=False,
        max_length=40,
        help_text="As stamped on the case or its label.",
    )
    tyre_code = forms.CharField(
        label="Date code of the oldest tyre",
        required=False,
        max_length=8,
        help_text="The last four figures after DOT: week, then year.",
        widget=WholeInput(),
    )
    fuel_level = _choice("Fuel in the tank", *TANK, first=("", NOT_KNOWN))
    odometer = forms.IntegerField(
        label="Odometer", required=False, min_value=0, max_value=9_999_999, widget=WholeInput()
    )
    levels = _choice("Fluid levels", "all between the marks", "one is low", "one is empty", first=NOT_LOOKED)
    leaks = _seen("Leaks under the car", "A leak")
    rodents = _seen("Rodents", "Droppings or a nest")
    stands = _choice("Wheels", "on the ground", "on stands", first=NOT_LOOKED)
    key = forms.CharField(widget=forms.HiddenInput, min_length=8, max_length=60)

    def __init__(self, *args: Any, vehicle: Vehicle, edge: Edge, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.vehicle = vehicle
        self.initial.setdefault("key", str(uuid4()))
        volts = fields_of(CareKind.BATTERY_READING)[VOLTS]
        pressures = fields_of(CareKind.TYRE_PRESSURES)
        self.fields |= {VOLTS: volts, **{name: pressures[name] for name in PRESSURES}}
        for name in PRESSURES:
            pressures[name].name = f"Tyre pressure, {pressures[name].name.lower()}"  # type: ignore[attr-defined]  # a MeasureField
        for field in self.measured.values():
            field.high = limit_of(field.quantity, vehicle.system_volts_known).high
            field.use_units(edge, None)
        self.order_fields(
            [VOLTS, "battery_code", *PRESSURES, "tyre_code", "fuel_level", "odometer", "levels"]
        )

    @property
    def measured(self) -> dict[str, MeasureField]:
        """The fields that become readings."""
        return {name: field for name, field in self.fields.items() if isinstance(field, MeasureField)}

    def drafts(self) -> list[Draft]:
        """The entries of the log that this look makes, the inspection last."""
        made = [
            Draft(self.vehicle, kind, None, readings=tuple(read))
            for kind, names in ((CareKind.BATTERY_READING, (VOLTS,)), (CareKind.TYRE_PRESSURES, PRESSURES))
            if (read := self._readings(names))
        ]
        findings = [word for name, word in (("leaks", LEAK), ("rodents", RODENTS)) if self._is_seen(name)]
        details: dict[str, Any] = {"ok": False, "found": findings} if findings else {"ok": True}
        return [*made, Draft(self.vehicle, CareKind.INSPECTED, None, details, note=self._words())]

    def _readings(self, names: Sequence[str]) -> list[Measured]:
        given = ((self.measured[name], self.cleaned_data.get(name)) for name in names)
        return [
            Measured(field.quantity, value, field.position) for field, value in given if value is not None
        ]

    def _is_seen(self, name: str) -> bool:
        return bool(self.cleaned_data[name] == "found")

    def _words(self) -> str:
        names = ("battery_code", "tyre_code", "fuel_level", "odometer", "levels", "stands")
        sentences = [
            f"{self.fields[name].label}: {value}."
            for name in names
            if (value := self.cleaned_data.get(name)) not in (None, "")
        ]
        return " ".join(["First look.", *sentences])
