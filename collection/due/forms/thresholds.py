"""Own values in place of the defaults, in words and units that a person reads."""

from django import forms
from django.http import QueryDict

from collection.due.actions.thresholds import OwnValue
from collection.life.choices import PolicyTerm
from collection.web.measures import DecimalInput
from collection.web.units import Edge


class Saying:
    """How a person reads a threshold: value × factor + offset, with the unit's name."""

    def __init__(self, factor: float, offset: float, unit: str) -> None:
        self.factor, self.offset, self.unit = factor, offset, unit

    def said(self, value: float) -> str:
        """A value in the person's unit, without the unit."""
        return f"{value * self.factor + self.offset:.4g}"

    def meant(self, typed: float) -> float:
        """What was typed, in the threshold's own unit."""
        return (typed - self.offset) / self.factor


def saying(term: PolicyTerm, edge: Edge) -> Saying:
    """A share up to 1 is said in percent, another bare number as times; kelvins are differences."""
    if term.unit == "1":
        return Saying(100.0, 0.0, "%") if term.high <= 1 else Saying(1.0, 0.0, "times")
    if term.unit == "K":
        return Saying(edge.from_c(1.0) - edge.from_c(0.0), 0.0, edge.temperature_unit)
    if term.unit == "°C":
        return Saying(edge.from_c(1.0) - edge.from_c(0.0), edge.from_c(0.0), edge.temperature_unit)
    return Saying(1.0, 0.0, {"h": "hours", "min": "minutes"}.get(term.unit, term.unit))


class ThresholdForm(forms.Form):
    """One interval or limit: empty is the default."""

    value = forms.FloatField(label="Own value", required=False, widget=DecimalInput)
    reason = forms.CharField(label="Own reason", required=False, max_length=200)

    def __init__(self, data: QueryDict | None, *, term: PolicyTerm, edge: Edge, own: OwnValue | None) -> None:
        self.term, self.own, self.saying = term, own, saying(term, edge)
        initial = {"value": self.saying.said(own.value), "reason": own.reason} if own else {}
        super().__init__(data, prefix=term.name, initial=initial)
        words = {"value": f"own value, {self.saying.unit}", "reason": "own reason"}
        for name, field in self.fields.items():
            field.widget.attrs["aria-label"] = f"{term.label}: {words[name]}"

    def clean_value(self) -> float | None:
        """The value in the threshold's own unit and inside its limits; untouched, exactly the one kept."""
        typed: float | None = self.cleaned_data["value"]
        if typed is None:
            return None
        if self.own and str(self["value"].data).strip() == self.saying.said(self.own.value):
            return self.own.value
        value = self.saying.meant(typed)
        if not self.term.low <= value <= self.term.high:
            raise forms.ValidationError(f"Give a value from {self.limits}.")
        return value

    def given(self) -> OwnValue | None:
        """The own value, if one was typed."""
        value = self.cleaned_data["value"]
        return None if value is None else OwnValue(value, self.cleaned_data["reason"].strip())

    @property
    def default(self) -> str:
        """The default with its unit."""
        return f"{self.saying.said(self.term.default)} {self.saying.unit}"

    @property
    def limits(self) -> str:
        """From where to where a value may be, with the unit."""
        return f"{self.saying.said(self.term.low)} to {self.saying.said(self.term.high)} {self.saying.unit}"
