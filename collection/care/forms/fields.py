"""Numbers as a person types them, cleaned to SI: in their own units, within the log's limits."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import capfirst

from collection.care.attachments import JPEG, MOST_BYTES, MOST_FILES, PDF
from collection.care.rules import ASKS, LIMITS, REST, TEMPERATURE
from collection.web.measures import NOT_KNOWN
from collection.web.units import Edge, read_unit
from scheduler.vocabulary.details import Along, Choice, Detail, Flag, Number, Reading, Row, Text, Words
from scheduler.vocabulary.quantities import QUANTITY
from scheduler.vocabulary.units import Unit


class MeasureField(forms.FloatField):
    """One number: its label carries the person's unit, its value is SI.

    ``quantity`` and ``position`` make it a reading; without them it is a detail of the entry.
    """

    def __init__(
        self, rule: Number, *, quantity: str = "", position: str = "", read_in: str = "", **kwargs: Any
    ) -> None:
        self.rule, self.quantity, self.position, self.read_in = rule, quantity, position, read_in
        self.unit = Unit(name=rule.unit)
        self.words = kwargs.pop("label", rule.label)
        # the phones' decimal keypad has no minus: signed numbers get the full number keyboard
        keypad = {} if rule.low < 0 else {"inputmode": "decimal"}
        widget = forms.NumberInput(attrs={"step": "any", "autocomplete": "off"} | keypad)
        super().__init__(required=rule.required, widget=widget, label=self.words, **kwargs)

    def speak(self, edge: Edge) -> None:
        """Take on the person's units."""
        self.unit = read_unit(self.rule.unit, self.read_in, edge)
        self.label = f"{self.words}, {self.unit.name}" if self.unit.name else self.words

    def limit(self, high: float) -> None:
        """Lower the upper limit to what this car can hold."""
        self.rule = replace(self.rule, high=high)

    def clean(self, value: Any) -> float | None:
        """The typed number in SI, or a fault in the person's own units."""
        typed: float | None = super().clean(value)
        if typed is None:
            return None
        si = self.unit.to_si(typed)
        if not self.rule.low <= si <= self.rule.high:
            low, high = self.unit.from_si(self.rule.low), self.unit.from_si(self.rule.high)
            limits = f"give {low:.4g} to {high:.4g} {self.unit.name}".rstrip()
            raise ValidationError(f"{typed:g} is out of range: {limits}.")
        return si

    def typed(self, si: float) -> float:
        """What the person would have typed for this value."""
        return float(f"{self.unit.from_si(si):.5g}")

    def said(self, si: float) -> str:
        """The value as it stands beside the field."""
        return f"{self.unit.from_si(si):.4g} {self.unit.name}".rstrip()


def fields_of(kind: str) -> dict[str, forms.Field]:
    """The fields that a kind of care asks for, by the name of the detail or reading that each becomes."""
    return {name: field for ask in ASKS[kind] for name, field in _fields(ask)}


def _fields(ask: Detail | Reading | Along) -> Iterator[tuple[str, forms.Field]]:
    if isinstance(ask, Reading):
        yield from _readings(ask)
    elif isinstance(ask, Along):
        rule = {TEMPERATURE.key: TEMPERATURE, REST.key: REST}[ask.key]
        yield ask.key, MeasureField(rule, label=ask.asked or rule.label)
    elif ask.in_form and not isinstance(ask, Row | Words):  # these are chosen in a form of their own
        yield ask.key, _detail(ask)


def _readings(ask: Reading) -> Iterator[tuple[str, forms.Field]]:
    if not ask.in_form:
        return
    row, rule = QUANTITY[ask.quantity], LIMITS[ask.quantity]
    given: Any = {"quantity": row.code, "read_in": row.read_in, "help_text": ask.help}
    titles = {position.code: position.title for position in row.positions}
    for code in ask.positions or titles:
        label = (ask.asked or row.position_title).format(titles[code])
        yield f"{row.code}_{code}", MeasureField(rule, position=code, label=label, **given)
    if not titles:
        yield row.code, MeasureField(rule, label=ask.asked or rule.label, **given)


def _detail(ask: Detail) -> forms.Field:
    told: Any = {"label": ask.asked or ask.label, "help_text": ask.help}
    match ask:
        case Number():
            return MeasureField(ask, **told)
        case Flag():
            return forms.BooleanField(required=False, initial=ask.ticked or None, **told)
        case Choice():
            pairs = [(code, capfirst(words)) for code, words in ask.choices]
            return forms.ChoiceField(
                required=ask.required,
                choices=pairs if ask.required else [("", NOT_KNOWN), *pairs],
                widget=forms.RadioSelect if ask.required else None,
                **told,
            )
        case Text():
            return forms.CharField(required=ask.required, max_length=ask.limit, **told)
    raise TypeError(f"{ask.key} needs a form of its own")


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
