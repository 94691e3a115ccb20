"""Fields that a person fills in their own unit, and the row form that every record page uses."""

from collections.abc import Iterable
from math import inf, isclose
from re import ASCII, fullmatch
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import models
from django.forms.models import construct_instance

from collection.web.units import Edge
from scheduler.vocabulary.units import Unit

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


class NumberField(forms.FloatField):
    """A number with a point or a comma for its decimals: half of Europe's number pads have only the comma.

    1,250 is 1250 in one country and 1.25 in the next: where the limits allow both, it is asked again.
    """

    widget: type[forms.Widget] = DecimalInput

    def to_python(self, value: Any) -> Any:  # the stubs take it for a whole number
        """What was typed as a number; ValidationError where it can be read in two ways."""
        text = str(value).strip() if isinstance(value, str) else value
        if not isinstance(text, str) or "." in text or not fullmatch(r"[-+]?\d+,\d+", text, ASCII):
            return super().to_python(text)
        readings = [float(text.replace(",", "."))]
        if fullmatch(r"[-+]?[1-9]\d{0,2},\d{3}", text, ASCII):
            readings.append(float(text.replace(",", "")))
        allowed = [number for number in readings if self.allows(number)] or readings
        if len(allowed) > 1:
            raise ValidationError(
                f"{text} can be {readings[1]:.0f} or {readings[0]:g}: leave the comma out, or write a point."
            )
        return allowed[0]

    def allows(self, number: float) -> bool:
        """Whether a number as typed lies inside the limits."""
        try:
            self.run_validators(number)
        except ValidationError:
            return False
        return True


class MeasureField(NumberField):
    """A quantity typed in the person's unit and kept in SI.

    ``stored_as``: the unit of the record, in which ``low`` and ``high`` are (both allowed); ``read_in``: one
    that all people use for it. ``quantity`` and ``position`` make it a reading of the care log. Until
    ``use_units`` it is read as it is stored. An untouched field gives back exactly the value stored, so
    that showing it in another unit never shifts it.
    """

    widget = forms.TextInput

    def __init__(
        self,
        *,
        name: str,
        stored_as: str,
        low: float = -inf,
        high: float = inf,
        read_in: str = "",
        quantity: str = "",
        position: str = "",
        **kwargs: Any,
    ) -> None:
        self.name, self.stored_as, self.read_in = name, stored_as, read_in
        self.low, self.high = low, high
        self.quantity, self.position = quantity, position
        self.unit = Unit(name=stored_as)
        self.stored: float | None = None
        super().__init__(label=name, **{"required": False} | kwargs)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        """The phones' decimal keypad has no minus: signed numbers get the full keyboard."""
        keypad = {} if self.low < 0 else {"inputmode": "decimal"}
        return super().widget_attrs(widget) | {"autocomplete": "off"} | keypad

    def use_units(self, edge: Edge, stored: float | None = None) -> None:
        """Take on a person's unit, and the value that stands in the record."""
        self.use_unit(edge.unit(self.stored_as, self.read_in), stored)

    def use_unit(self, unit: Unit, stored: float | None = None) -> None:
        """The same, where the unit is not the one that the person has chosen."""
        self.unit, self.stored = unit, stored
        self.label = f"{self.name}, {unit.name}" if unit.name else self.name

    def prepare_value(self, value: Any) -> Any:
        """SI to what the person reads; what they typed stays as typed."""
        return self.typed(value) if isinstance(value, int | float) else value

    def typed(self, si: float) -> str:
        """What the person would type for an SI value: five figures, a whole number whole."""
        value = self.unit.from_si(si)
        text = f"{value:.5g}"
        return f"{value:.0f}" if "e+" in text else text

    def allows(self, number: float) -> bool:
        """Whether a number in this unit lies inside the limits, which are in SI."""
        return self.low <= self.unit.to_si(number) <= self.high

    def clean(self, value: Any) -> float | None:
        """What was typed, in SI and inside the limits."""
        typed: float | None = super().clean(value)
        if typed is None:
            return None
        if self.stored is not None and str(value).strip() == self.typed(self.stored):
            return self.stored
        return within_limits(typed, self.low, self.high, self.unit)


def within_limits(typed: float, low: float, high: float, unit: Unit) -> float:
    """What was typed in a unit, in SI; ValidationError where it lies outside two limits in SI."""
    si = unit.to_si(typed)
    for limit in (low, high):
        if isclose(si, limit, rel_tol=1e-9):  # 95 × 0.01 is a little more than 0.95
            return limit
    if not low <= si <= high:
        raise ValidationError(out_of_range(typed, low, high, unit))
    return si


def out_of_range(typed: float, low: float, high: float, unit: Unit) -> str:
    """The fault of a number outside two limits in SI, which it names in the unit that was typed."""
    limits = f"{unit.from_si(low):.4g} to {unit.format(high)}"
    return f"{typed:g} is out of range: give {limits}.".replace("-", "−")


def ask(field: "models.Field[Any, Any]", **kwargs: Any) -> forms.Field | None:
    """The form field for a model's field: right keyboard, and an empty choice that says so."""
    if isinstance(field, models.DateField):
        kwargs["widget"] = DayInput()
    elif isinstance(field, models.FloatField):
        kwargs |= {"form_class": NumberField, "widget": DecimalInput()}
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
    """A form for one row. It reads and cleans; the action says what is wrong across fields and rows."""

    class Meta:
        formfield_callback = ask

    def __init__(self, *args: Any, edge: Edge, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            if isinstance(field, MeasureField):
                field.use_units(edge, self.initial.get(name))

    def _post_clean(self) -> None:
        """Fill the row; the action validates it whole, so that all its faults are shown at once."""
        self.instance = construct_instance(self, self.instance, self._meta.fields, self._meta.exclude)
