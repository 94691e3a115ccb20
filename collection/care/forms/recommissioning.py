"""At the long-stood car: a step of the plan, a look at a system, a hazard, a test for a fault.

Results count by their moment, and of two at one moment the worse: so no form fills in a time to the minute,
and a phone's wrong clock is set right by what its entry says of it (``Entry.done_by_our_clock``).
"""

from typing import Any, ClassVar

from django import forms
from django.utils.text import capfirst

from collection.care import core as choices
from collection.care.forms.base import CareForm
from collection.care.rules import DETAILS
from collection.models import CareKind, Regime
from collection.web.measures import MeasureField, NumberField

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
        self.check = choices.check_at(self.subject()[0], self.car.vehicle.system_volts)
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
        self.fields["value"] = NumberField(label=capfirst(self.check.measure), required=False)
        units = choices.units_of(self.check)
        unit = forms.ChoiceField(label="Unit", required=False, choices=[(word, word) for word in units])
        self.fields["unit"] = unit
        self.initial.setdefault("unit", self.car.edge.unit(units[0]).name)
        if (condition := choices.condition_of(self.check)) == "temp_c":
            self.fields["temperature_c"] = self._condition("temperature_c", "Temperature there")
        elif condition == "altitude_m":
            self.fields["altitude_m"] = self._condition("altitude_m", "Height above the sea")

    def _condition(self, key: str, name: str) -> MeasureField:
        rule: Any = DETAILS[self.kind][key]
        return MeasureField(
            name=name,
            stored_as=rule.unit,
            low=rule.low,
            high=rule.high,
            widget=forms.NumberInput,
            help_text="It moves the limits; where it is not given, the strictest case is taken.",
        )

    def clean(self) -> dict[str, Any]:
        """A car in care has no gates: there only an old result is corrected."""
        if self.car.entry is None and self.car.vehicle.regime != Regime.DORMANT:
            self.add_error(None, IN_CARE)
        return super().clean()

    def details(self) -> dict[str, Any]:
        """The result as the log keeps it: unit and conditions only with a value."""
        given = super().details()
        if "value" in given:
            return given
        return {key: it for key, it in given.items() if key in ("check", "answer", "could_not", "instrument")}

    def field_of(self, name: str) -> str:
        """A fault of the result stands at the field that asks for it."""
        return "answer" if name == "value" and "answer" in self.fields else super().field_of(name)


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
        volts = self.car.vehicle.system_volts_known
        outcomes = [(key, capfirst(choices.for_volts(words, volts))) for key, words in self._outcomes(test)]
        self.fields["outcome"] = forms.ChoiceField(
            label="It came out", widget=forms.RadioSelect, required=False, choices=outcomes
        )
        self.order_fields(["outcome", "could_not"])

    def _outcomes(self, test: str) -> list[tuple[str, str]]:
        """The outcomes of a test, of one that is no longer asked too: its old result may be corrected."""
        return list(self.tree.outcomes_of(test).items()) if self.tree.knows(test) else []

    def details(self) -> dict[str, Any]:
        """The test with its outcome; of a search begun anew only that."""
        details = super().details()
        return details if details["test"] else {"symptom": details["symptom"], "begun": True}


WAKING_FORMS: dict[str, type[AboutForm]] = {
    form.kind: form for form in (StepForm, LookForm, HazardForm, FaultTestForm)
}
