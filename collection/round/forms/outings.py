"""What is read when a car goes out, and when it comes back; nothing is ticked beforehand."""

from collections.abc import Iterable
from typing import Any
from uuid import uuid4

from django import forms

from collection.care import core as choices
from collection.care.forms.look_over import NOT_LOOKED, TANK
from collection.models import Bay
from collection.web.measures import NOT_KNOWN, MeasureField, PlainForm, WholeInput
from collection.web.units import Edge

TYRES = ("all look well", "one looks low")
LOW = TYRES[1]


class _OutingForm(PlainForm):
    """Odometer and fuel, both ways."""

    odometer_km = MeasureField(name="Odometer", stored_as="km", low=0, high=choices.MOST_KM, required=True)
    fuel = forms.ChoiceField(
        label="Fuel in the tank",
        required=False,
        choices=[("", NOT_KNOWN), *((word, word.capitalize()) for word in TANK)],
    )
    key = forms.CharField(widget=forms.HiddenInput, min_length=8, max_length=40)

    def __init__(self, data: Any, *, edge: Edge, last: str = "") -> None:
        super().__init__(data)
        self.initial.setdefault("key", str(uuid4()))
        odometer: Any = self.fields["odometer_km"]
        odometer.use_units(edge, None)
        odometer.last = last

    @property
    def words(self) -> str:
        """What the entry says of fuel and tyres."""
        names = (name for name in ("fuel", "tyres") if self.cleaned_data.get(name))
        return " ".join(f"{self.fields[name].label}: {self.cleaned_data[name]}." for name in names)


class OutForm(_OutingForm):
    """It goes out."""

    tyres = forms.ChoiceField(
        label="Tyres",
        required=False,
        choices=[NOT_LOOKED, *((word, word.capitalize()) for word in TYRES)],
        help_text="One that looks low is pumped up before it goes.",
    )

    def clean_tyres(self) -> str:
        """A low tyre is not driven on."""
        seen: str = self.cleaned_data["tyres"]
        if seen == LOW:
            raise forms.ValidationError("A tyre is low: pump it up, look why, then let it go out.")
        return seen


class BackForm(_OutingForm):
    """It comes back."""

    bay = forms.ModelChoiceField(Bay.objects.none(), label="It now stands in", empty_label=None)
    minutes = forms.IntegerField(
        label="Engine ran for about", min_value=1, max_value=600, widget=WholeInput(), help_text="Minutes."
    )
    warm = forms.BooleanField(label="Driven until fully warm", required=False)
    noticed = forms.CharField(
        label="What was noticed",
        required=False,
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="It waits at the car to be seen to. Empty: nothing.",
    )
    danger = forms.BooleanField(label="▲ Not to be used until seen to", required=False)

    def __init__(self, data: Any, *, bays: Iterable[Bay], left: int | None, edge: Edge, last: str) -> None:
        super().__init__(data, edge=edge, last=last)
        free = list(bays)
        own = [bay.pk for bay in free if bay.pk == left]
        field: Any = self.fields["bay"]
        field.queryset = Bay.objects.filter(pk__in=[bay.pk for bay in free]).select_related("building")
        self.initial.setdefault("bay", own[0] if own else None)

    def clean(self) -> dict[str, Any]:
        """A danger is said in words."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        if cleaned.get("danger") and not cleaned.get("noticed"):
            self.add_error("noticed", "Say what is dangerous.")
        return cleaned
