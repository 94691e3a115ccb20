"""What would be otherwise: which cars, what changes, and what things cost."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from collection.due.core.whatif import Asked, Changes, rates
from collection.due.forms.thresholds import unit_of
from collection.due.queries.prices import own_rates
from collection.life.core import choices
from collection.models import Climate, Regime, Shelter, Vehicle
from collection.permissions import Access
from collection.web.measures import MeasureField, NumberField, within_limits
from collection.web.units import edge

AS_IT_IS = [("", "as it is")]
YES_NO = [*AS_IT_IS, ("yes", "yes, all of them"), ("no", "no, none of them")]
STABILISE = [
    ("", "when it falls due, as now"),
    ("each_fill", "with every fill, while fresh"),
    ("never", "never"),
]
EVERY_CAR = "all"
# The parts of the form as they stand on the page.
GROUPS = (
    ("Where they stand", ("climate", "shelter")),
    ("Batteries", ("chemistry", "isolated", "maintainer")),
    ("Care and fuel", ("regime", "grade", "fill", "stabilise")),
    ("One interval or limit", ("threshold", "value")),
)


class WhatIfForm(forms.Form):
    """Everything is optional but the cars; the rates are empty where our defaults serve."""

    cars = forms.ChoiceField(label="Which cars")
    climate: "forms.ModelChoiceField[Climate]" = forms.ModelChoiceField(
        None, required=False, label="In the climate of", empty_label="as it is"
    )
    shelter = forms.ChoiceField(label="Under", choices=[*AS_IT_IS, *Shelter.choices], required=False)
    chemistry = forms.ChoiceField(
        label="A new battery of kind", required=False, help_text="Fitted full on the first day."
    )
    isolated = forms.ChoiceField(label="Isolators open", choices=YES_NO, required=False)
    maintainer = forms.ChoiceField(label="On maintainers", choices=YES_NO, required=False)
    regime = forms.ChoiceField(label="Care regime", choices=[*AS_IT_IS, *Regime.choices], required=False)
    grade = forms.ChoiceField(
        label="Filled with",
        required=False,
        help_text="A fresh fill on the first day; a diesel stays a diesel.",
    )
    fill = MeasureField(
        name="Tank filled to", stored_as="%", low=5, high=100, help_text="95 % where it is left empty."
    )
    stabilise = forms.ChoiceField(label="Stabiliser", choices=STABILISE, required=False)
    threshold = forms.ChoiceField(label="Interval or limit", required=False)
    value = NumberField(label="Its value", required=False)

    def __init__(self, *args: Any, access: Access, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.access, self.edge = access, edge(access.person.units)
        self.terms = {term.name: term for term in choices.thresholds()}
        self._offer("cars", _cars(access))
        self._offer("chemistry", [*AS_IT_IS, *choices.chemistries()])
        self._offer("grade", [*AS_IT_IS, *choices.fuel_grades()])
        self._offer("threshold", [*AS_IT_IS, *((t.name, self._named(t)) for t in self.terms.values())])
        self.fields["climate"].queryset = access.climates()  # type: ignore[attr-defined]  # declared above
        self.own = own_rates(access.organisation)
        for term in rates():
            default = f"{term.default:g} by our default (policy): {term.reason}."
            own = self.own.get(term.name)
            self.fields[term.name] = MeasureField(
                name=term.label,
                stored_as=term.unit,
                low=term.low,
                high=term.high,
                help_text=default if own is None else f"{own:g} by your own prices.",
            )
        for field in self.fields.values():
            if isinstance(field, MeasureField):
                field.use_units(self.edge)

    def _offer(self, name: str, offered: Any) -> None:
        self.fields[name].choices = offered  # type: ignore[attr-defined]  # each is a ChoiceField

    def _named(self, term: choices.PolicyTerm) -> str:
        return f"{term.label} ({unit_of(term, self.edge).format(term.default)})"

    def groups(self) -> list[tuple[str, list[forms.BoundField]]]:
        """The fields under their headings."""
        return [(heading, [self[name] for name in names]) for heading, names in GROUPS]

    def rate_fields(self) -> list[forms.BoundField]:
        """What things cost."""
        return [self[term.name] for term in rates()]

    def faulty(self) -> list[str]:
        """The labels of the fields to look at."""
        return [str(field.label) for field in self if field.errors]

    def clean(self) -> dict[str, Any]:
        """A threshold needs its value inside its limits, and something has to change."""
        asked = self.cleaned_data
        term = self.terms.get(asked.get("threshold", ""))
        if term is None and asked.get("value") is not None:
            self.add_error("threshold", "Choose the interval or limit that the value is for.")
        if term is not None:
            asked["value"] = self._in_si(term, asked.get("value"))
        if not self._changed() and not self.errors:
            raise ValidationError("Choose at least one thing that would be otherwise.")
        return asked

    def _in_si(self, term: choices.PolicyTerm, typed: float | None) -> float | None:
        unit = unit_of(term, self.edge)
        if typed is None:
            limits = f"{unit.from_si(term.low):.4g} to {unit.format(term.high)}"
            self.add_error("value", f"Give a value from {limits}.")
            return None
        try:
            return within_limits(typed, term.low, term.high, unit)
        except ValidationError as error:
            self.add_error("value", error)
            return None

    def _changed(self) -> list[str]:
        names = [name for _, names in GROUPS for name in names]
        return [name for name in names if self.cleaned_data.get(name) not in ("", None)]

    def changes(self) -> list[tuple[str, str]]:
        """What would be otherwise, in the words of the form."""
        return [(str(self.fields[name].label), self._words(name)) for name in self._changed()]

    def chosen(self) -> str:
        """The cars chosen, in words."""
        return self._words("cars")

    def _words(self, name: str) -> str:
        """What was chosen or typed, as it stands on the page."""
        field, sent = self.fields[name], str(self[name].data)
        if isinstance(field, forms.ModelChoiceField):
            return str(self.cleaned_data[name])
        offered = _flat(field.choices) if isinstance(field, forms.ChoiceField) else {}
        return str(offered.get(sent, sent))

    def vehicles(self) -> list[int]:
        """The primary keys of the cars chosen, out of those in storage that this person may see."""
        cars = _stored(self.access)
        kind, _, pk = self.cleaned_data["cars"].partition("-")
        if kind == "building":
            cars = cars.filter(bay__building=pk)
        elif kind == "car":
            cars = cars.filter(pk=pk)
        return list(cars.values_list("pk", flat=True))

    def asked(self) -> Asked:
        """The changes, for the core."""
        got = self.cleaned_data
        yes = {"yes": True, "no": False}
        changes = Changes(
            chemistry=got["chemistry"] or None,
            isolated=yes.get(got["isolated"]),
            maintainer=yes.get(got["maintainer"]),
            regime=got["regime"] or None,
            grade=got["grade"] or None,
            fill_share=None if got["fill"] is None else got["fill"] / 100,
            stabilise=got["stabilise"] or None,
            thresholds={got["threshold"]: got["value"]} if got["threshold"] else {},
        )
        return Asked(changes, got["climate"], got["shelter"])

    def costs(self) -> dict[str, float]:
        """The rates that were typed, else the organisation's own; the rest keep our defaults."""
        names = [term.name for term in rates()]
        typed = {name: self.cleaned_data[name] for name in names if self.cleaned_data[name] is not None}
        return {name: value for name, value in self.own.items() if name in names} | typed


def _flat(offered: Any) -> dict[str, str]:
    """Choices without their headings."""
    groups = (words if isinstance(words, list | tuple) else [(key, words)] for key, words in offered)
    return {str(key): str(words) for group in groups for key, words in group}


def _stored(access: Access) -> Any:
    return access.vehicles().filter(left_on__isnull=True)


def _cars(access: Access) -> list[tuple[str, Any]]:
    """Everything, each building where cars stand, each car."""
    cars: list[Vehicle] = list(_stored(access).select_related("bay__building__site"))
    buildings = sorted({car.bay.building for car in cars if car.bay}, key=str)
    return [
        (EVERY_CAR, "every car"),
        ("A building", [(f"building-{b.pk}", str(b)) for b in buildings]),
        ("One car", [(f"car-{car.pk}", str(car)) for car in cars]),
    ]
