"""Fields that a person fills in their own unit, and the row form that every record page uses."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import models
from django.forms.models import construct_instance

from collection.web.units import Edge

NOT_KNOWN = "Not known"
LONGEST_KEY = 18  # digits of a row's number that every database can hold
Groups = tuple[tuple[str, tuple[str, ...]], ...]  # headings, each with its fields


class DecimalInput(forms.TextInput):
    """Brings the number pad with a decimal point, and shows 60 as 60."""

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        super().__init__({"inputmode": "decimal", "autocomplete": "off"} | (attrs or {}))

    def format_value(self, value: Any) -> str | None:
        """Floats without a tail of noughts."""
        return f"{value:.6g}" if isinstance(value, float) else super().format_value(value)


class WholeInput(forms.TextInput):
    """Brings the number pad."""

    def __init__(self) -> None:
        super().__init__({"inputmode": "numeric", "autocomplete": "off"})


class DayInput(forms.DateInput):
    """The phone's own calendar."""

    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


class Several(forms.ModelMultipleChoiceField):  # type: ignore[type-arg]  # cannot be subscripted at run time
    """Rows to tick; a number that no row can have is a wrong choice, not an error of the database."""

    def clean(self, value: Any) -> Any:
        """The rows chosen."""
        for pk in value if isinstance(value, list | tuple) else ():
            if len(str(pk)) > LONGEST_KEY:
                raise ValidationError(
                    self.error_messages["invalid_pk_value"], code="invalid_pk_value", params={"pk": "…"}
                )
        return super().clean(value)


class MeasureField(forms.FloatField):
    """A quantity typed in the person's unit and kept in SI; limits are in SI.

    ``stored_as`` names the unit of the record: kPa, °C or litres. An untouched field gives back
    exactly the value stored, so that showing it in another unit never shifts it.
    """

    widget = DecimalInput

    def __init__(self, *, name: str, stored_as: str, low: float, high: float, **kwargs: Any) -> None:
        super().__init__(required=False, **kwargs)
        self.name, self.stored_as, self.low, self.high = name, stored_as, low, high
        self.stored: float | None = None

    def speak(self, edge: Edge, stored: float | None) -> None:
        """Take on a person's unit and the value that stands in the record."""
        self.unit, self.stored = edge.unit(self.stored_as), stored
        self.label = f"{self.name}, {self.unit.name}"

    def prepare_value(self, value: Any) -> Any:
        """SI to what the person reads; what they typed stays as typed."""
        return self.said(value) if isinstance(value, int | float) else value

    def said(self, si: float) -> str:
        """An SI value in the person's unit, without the unit."""
        return f"{self.unit.from_si(si):.4g}"

    def clean(self, value: Any) -> float | None:
        """What was typed, in SI and inside the limits."""
        typed = super().clean(value)
        if typed is None:
            return None
        if self.stored is not None and str(value).strip() == self.said(self.stored):
            return self.stored
        si: float = self.unit.to_si(typed)
        if not self.low <= si <= self.high:
            raise ValidationError(
                f"Give a value from {self.said(self.low)} to {self.said(self.high)} {self.unit.name}."
            )
        return si


def ask(field: "models.Field[Any, Any]", **kwargs: Any) -> forms.Field | None:
    """The form field for a model's field: right keyboard, and an empty choice that says so."""
    if isinstance(field, models.DateField):
        kwargs["widget"] = DayInput()
    elif isinstance(field, models.FloatField):
        kwargs["widget"] = DecimalInput()
    elif isinstance(field, models.IntegerField) and not field.choices:
        kwargs["widget"] = WholeInput()
    made = field.formfield(**kwargs)
    if field.choices and field.blank and isinstance(made, forms.ChoiceField):
        offer(made, field.flatchoices)
    return made


def offer(field: forms.Field, choices: Iterable[tuple[Any, Any]]) -> None:
    """Offer the choices of a field that may stay unknown."""
    field.choices = [("", NOT_KNOWN), *choices]  # type: ignore[attr-defined]  # called with choice fields only


class PlainForm(forms.Form):
    """A form that stands for no row; labels without a colon, as on every page."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)


class RecordForm(forms.ModelForm):  # type: ignore[type-arg]  # Django's ModelForm cannot be subscripted at run time
    """A form for one row. It reads and cleans; rules across fields and rows are told by the action."""

    class Meta:
        formfield_callback = ask

    def __init__(self, *args: Any, edge: Edge, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            if isinstance(field, MeasureField):
                field.speak(edge, self.initial.get(name))

    def _post_clean(self) -> None:
        """Fill the row; the action validates it whole, so that all its faults are told at once."""
        self.instance = construct_instance(self, self.instance, self._meta.fields, self._meta.exclude)
