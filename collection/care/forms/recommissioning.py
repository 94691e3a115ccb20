"""At the long-stood car: a step of the plan, a look at a system, a hazard, a test for a fault."""

from typing import Any, ClassVar

from django import forms
from django.utils.text import capfirst

from collection.care import core as choices
from collection.care.forms.base import CareForm
from collection.models import CareKind, Regime
from collection.web.measures import DecimalInput
from collection.web.units import Edge

IN_CARE = "This car is in care: results are logged only for a car that stood, history unknown."


class AboutForm(CareForm):
    """A form about one subject: the step, system, hazard or test that the address names."""

    about: ClassVar[tuple[str, ...]]  # details that the address gives, slash by slash

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        # The order of results decides: the moment of sending, unless another time is typed.
        super().__init__(*args, **kwargs | {"initial": kwargs.get("initial", {}) | {"done_at": None}})

    def subject(self) -> tuple[str, ...]:
        """The subject, from the address or from the entry to be corrected."""
        if self.car.entry is not None:
            return tuple(str(self.car.entry.details.get(key, "")) for key in self.about)
        return tuple(self.car.duty.split("/"))

    def details(self) -> dict[str, Any]:
        """What was typed, with the subject."""
        return super().details() | dict(zip(self.about, self.subject(), strict=True))


class StepForm(AboutForm):
    """The result of one step: a value, an answer, or why it could not be done."""

    kind = CareKind.WAKING_RESULT
    about = ("check",)
    own: ClassVar = ("could_not", "instrument")

    could_not = forms.CharField(required=False, max_length=200, label="Or: could not be done, because")
    instrument = forms.CharField(required=False, max_length=60, label="Measured with")

    def fit(self) -> None:
        """A number with its unit, or the answers of this step."""
        self.check = choices.checks()[self.subject()[0]]
        self.initial.setdefault("instrument", self.check.instrument)
        if choices.is_measured(self.check):
            self._ask_number()
        else:
            self.fields["answer"] = forms.ChoiceField(
                label="Found",
                widget=forms.RadioSelect,
                required=False,
                choices=choices.answers_of(self.check),
            )
        first = [name for name in ("value", "unit", "answer") if name in self.fields]
        self.order_fields([*first, "could_not", "temperature_c", "altitude_m", "instrument"])

    def _ask_number(self) -> None:
        self.fields["value"] = forms.FloatField(
            label=capfirst(self.check.measure), required=False, widget=DecimalInput
        )
        units = choices.units_of(self.check)
        unit = forms.ChoiceField(label="Unit", required=False, choices=[(word, word) for word in units])
        self.fields["unit"] = unit
        self.initial.setdefault("unit", _own(units, self.car.edge))
        if (condition := choices.condition_of(self.check)) == "temp_c":
            self.fields["temperature_c"] = _condition(f"Temperature there, {self.car.edge.temperature_unit}")
        elif condition == "altitude_m":
            self.fields["altitude_m"] = _condition("Height above the sea, m")

    def clean(self) -> dict[str, Any]:
        """A car in care has no gates: there only an old result is corrected."""
        if self.car.entry is None and self.car.vehicle.regime != Regime.DORMANT:
            self.add_error(None, IN_CARE)
        return super().clean()

    def filled_from(self, entry: Any) -> dict[str, Any]:
        """The result again, its temperature in the person's unit."""
        values = super().filled_from(entry)
        if values.get("temperature_c") is not None:
            values["temperature_c"] = self.car.edge.from_c(values["temperature_c"])
        return values

    def details(self) -> dict[str, Any]:
        """The result as the log keeps it: the unit only with a value, the temperature in °C."""
        said = super().details()
        if "value" not in said:
            said = {
                key: it for key, it in said.items() if key in ("check", "answer", "could_not", "instrument")
            }
        if "temperature_c" in said:
            said["temperature_c"] = self.car.edge.to_c(said["temperature_c"])
        return said

    def field_of(self, name: str) -> str:
        """A fault of the result stands at the field that asks for it."""
        return "answer" if name == "value" and "answer" in self.fields else super().field_of(name)


def _own(units: list[str], edge: Edge) -> str:
    return edge.pressure_unit if edge.pressure_unit in units else units[0]


def _condition(label: str) -> forms.FloatField:
    field = forms.FloatField(label=label, required=False, widget=forms.NumberInput(attrs={"step": "any"}))
    field.help_text = "It moves the limits; where it is not given, the strictest case is taken."
    return field


class LookForm(AboutForm):
    """What somebody saw at one system: it overrules what standing time makes likely."""

    kind = CareKind.SYSTEM_SEEN
    about = ("system",)
    own: ClassVar = ("seen", "text")


class HazardForm(AboutForm):
    """A hazard that is there, or is gone; asked in a correction."""

    kind = CareKind.HAZARD
    about = ("hazard",)
    own: ClassVar = ("present",)

    present = forms.TypedChoiceField(
        label="The hazard is",
        widget=forms.RadioSelect,
        choices=[("True", "There"), ("False", "Gone")],
        coerce=lambda word: word == "True",
    )


class FaultTestForm(AboutForm):
    """One test for a fault: how it came out, or why it could not be done."""

    kind = CareKind.FAULT_TEST
    about = ("symptom", "test")
    own: ClassVar = ("could_not",)

    could_not = forms.CharField(required=False, max_length=200, label="Or: could not be done, because")

    def fit(self) -> None:
        """The outcomes of this test."""
        symptom, test = self.subject()
        self.tree = choices.trees()[symptom]
        self.probe = next((probe for probe in self.tree.probes if probe.key == test), None)
        outcomes = [(one.key, capfirst(one.words)) for one in self.probe.outcomes] if self.probe else []
        self.fields["outcome"] = forms.ChoiceField(
            label="It came out", widget=forms.RadioSelect, required=False, choices=outcomes
        )
        self.order_fields(["outcome", "could_not"])

    def details(self) -> dict[str, Any]:
        """The test with its outcome; of a search begun anew only that."""
        said = super().details()
        return said if said["test"] else {"symptom": said["symptom"], "begun": True}


WAKING_FORMS: dict[str, type[AboutForm]] = {
    form.kind: form for form in (StepForm, LookForm, HazardForm, FaultTestForm)
}
