"""Numbers as a person types them, cleaned to SI: in their own units, within the log's limits."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from collection.actions.care_rules import DETAILS, READINGS, Number
from collection.attachments import JPEG, MOST_BYTES, MOST_FILES, PDF
from collection.units import Edge


@dataclass(frozen=True)
class Shown:
    """How a quantity looks to a person: unit, and the way there and back."""

    unit: str
    to_si: Callable[[float], float]
    from_si: Callable[[float], float]


MILLIAMPERES = Shown("mA", lambda ma: ma / 1000, lambda amps: amps * 1000)


def shown(unit: str, edge: Edge) -> Shown:
    """The person's own unit for one of ours; units that all people share stay as they are."""
    match unit:
        case "kPa":
            return Shown(edge.pressure_unit, edge.to_kpa, edge.from_kpa)
        case "°C":
            return Shown(edge.temperature_unit, edge.to_c, edge.from_c)
        case "km":
            return Shown(edge.distance_unit, edge.to_km, edge.from_km)
        case "litres":
            return Shown(edge.volume_unit, edge.to_litres, edge.from_litres)
    return Shown(unit, float, float)


class MeasureField(forms.FloatField):
    """One number: its label carries the person's unit, its value is SI.

    ``quantity`` and ``position`` make it a reading; without them it is a detail of the entry.
    """

    def __init__(
        self, rule: Number, *, quantity: str = "", position: str = "", own: Shown | None = None, **kwargs: Any
    ) -> None:
        self.rule, self.quantity, self.position, self.own = rule, quantity, position, own
        self.shown = own or Shown(rule.unit, float, float)
        self.words = kwargs.pop("label", rule.label)
        # the phones' decimal keypad has no minus: signed numbers get the full number keyboard
        keypad = {} if rule.low < 0 else {"inputmode": "decimal"}
        widget = forms.NumberInput(attrs={"step": "any", "autocomplete": "off"} | keypad)
        super().__init__(required=rule.required, widget=widget, label=self.words, **kwargs)

    def speak(self, edge: Edge) -> None:
        """Take on the person's units."""
        self.shown = self.own or shown(self.rule.unit, edge)
        self.label = f"{self.words}, {self.shown.unit}" if self.shown.unit else self.words

    def limit(self, high: float) -> None:
        """Lower the upper limit to what this car can hold."""
        self.rule = replace(self.rule, high=high)

    def clean(self, value: Any) -> float | None:
        """The typed number in SI, or a fault in the person's own units."""
        typed: float | None = super().clean(value)
        if typed is None:
            return None
        si = self.shown.to_si(typed)
        if not self.rule.low <= si <= self.rule.high:
            low, high = self.shown.from_si(self.rule.low), self.shown.from_si(self.rule.high)
            limits = f"give {low:.4g} to {high:.4g} {self.shown.unit}".rstrip()
            raise ValidationError(f"{typed:g} is out of range: {limits}.")
        return si

    def typed(self, si: float) -> float:
        """What the person would have typed for this value."""
        return float(f"{self.shown.from_si(si):.5g}")

    def said(self, si: float) -> str:
        """The value as it stands beside the field."""
        return f"{self.shown.from_si(si):.4g} {self.shown.unit}".rstrip()


def detail(kind: str, key: str, **kwargs: Any) -> MeasureField:
    """A numeric detail of a kind of entry, with the limits of the log."""
    rule = DETAILS[kind][key]
    if not isinstance(rule, Number):
        raise TypeError(f"{kind} {key} is no number")
    return MeasureField(rule, **kwargs)


def reading(quantity: str, position: str = "", **kwargs: Any) -> MeasureField:
    """A reading, with the limits of the log."""
    return MeasureField(READINGS[quantity], quantity=quantity, position=position, **kwargs)


class FilesInput(forms.ClearableFileInput):
    """The phone's camera roll and files; several at once."""

    allow_multiple_selected = True


class FilesField(forms.FileField):
    """Photographs and documents that go with an entry; what is in them is checked by the form."""

    widget = FilesInput

    def __init__(self) -> None:
        text = f"JPEG, PNG, WebP or PDF, at most {MOST_FILES}, each up to {MOST_BYTES / 1e6:.0f} MB."
        accept = {"accept": f"{JPEG},image/png,image/webp,{PDF}"}
        super().__init__(
            label="Photographs and documents", required=False, help_text=text, widget=FilesInput(accept)
        )

    def clean(self, data: Any, initial: Any = None) -> list[Any]:
        """Each file by Django's own checks; none is an empty list."""
        sent = data if isinstance(data, list | tuple) else [data]
        return [super(FilesField, self).clean(one, initial) for one in sent if one]
