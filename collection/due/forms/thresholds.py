"""Own values in place of the defaults, in words and units that a person reads."""

from django import forms
from django.http import QueryDict

from collection.due.actions.thresholds import OwnValue
from collection.life.core.choices import PolicyTerm
from collection.web.measures import MeasureField
from collection.web.units import Edge
from scheduler.vocabulary.units import Unit


def unit_of(term: PolicyTerm, edge: Edge) -> Unit:
    """How a person reads a threshold: a share up to 1 in per cent, another bare number as times."""
    return Unit(name="times") if term.unit == "1" and term.high > 1 else edge.unit(term.unit)


class ThresholdForm(forms.Form):
    """One interval or limit: empty is the default."""

    reason = forms.CharField(label="Own reason", required=False, max_length=200)

    def __init__(self, data: QueryDict | None, *, term: PolicyTerm, edge: Edge, own: OwnValue | None) -> None:
        self.term, self.own, self.unit = term, own, unit_of(term, edge)
        initial = {"value": own.value, "reason": own.reason} if own else {}
        super().__init__(data, prefix=term.name, initial=initial)
        value = MeasureField(name="Own value", stored_as=term.unit, low=term.low, high=term.high)
        value.use_unit(self.unit, own.value if own else None)
        self.fields["value"] = value
        self.order_fields(["value", "reason"])
        words = {"value": f"own value, {self.unit.name}", "reason": "own reason"}
        for name, field in self.fields.items():
            field.widget.attrs["aria-label"] = f"{term.label}: {words[name]}"

    def given(self) -> OwnValue | None:
        """The own value, if one was typed."""
        value = self.cleaned_data["value"]
        return None if value is None else OwnValue(value, self.cleaned_data["reason"].strip())

    @property
    def default(self) -> str:
        """The default with its unit."""
        return self.unit.format(self.term.default)

    @property
    def limits(self) -> str:
        """From where to where a value may be, with the unit."""
        return f"{self.unit.from_si(self.term.low):.4g} to {self.unit.format(self.term.high)}"
