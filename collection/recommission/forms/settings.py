"""Evidence found on a car, how it was put away, its handbook's values, what work costs, the ending."""

from typing import Any
from uuid import uuid4

from django import forms
from django.utils.text import capfirst

from collection.care import core as choices
from collection.care.attachments import JPEG, MOST_BYTES, PDF
from collection.care.attachments_apart import clean_apart
from collection.host.refusal import Refused
from collection.models import (
    Damp,
    Evidence,
    Grade,
    HandbookValue,
    RecommissionCase,
    Regime,
    Vehicle,
)
from collection.recommission.actions.settings import Ending
from collection.web.measures import DayInput, MeasureField, PlainForm, RecordForm, WholeInput
from collection.web.units import Edge

HARDNESS = [("", "As usual for its kind"), ("True", "Hard: beyond doubt here"), ("False", "Soft: doubtful")]
GRADES = [("", "Not said"), *Grade.choices]
CODES = {
    "tyre_code": "The last three or four digits, such as 2309 or 239.",
    "battery_made": "A letter and a digit, such as C7.",
}


class KeyedForm(PlainForm):
    """A form that is stored once, however often it is sent."""

    key = forms.CharField(widget=forms.HiddenInput, min_length=8, max_length=64)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("key", str(uuid4()))


class EvidenceForm(KeyedForm):
    """One find of one kind: only what that kind needs is asked."""

    on = forms.DateField(label="Date on it", widget=DayInput)
    until = forms.DateField(
        label="Or until",
        required=False,
        widget=DayInput,
        help_text="Only if the date is known as a range: the last day it can be.",
    )
    code = forms.CharField(label="Code", max_length=12)
    count = forms.IntegerField(label="Rings counted", widget=WholeInput)
    odometer_km = MeasureField(name="Odometer", stored_as="km", low=0, high=choices.MOST_KM, required=True)
    event = forms.ChoiceField(label="Which last day is meant", choices=choices.events)
    answers = forms.MultipleChoiceField(
        label="Answer what applies", required=False, widget=forms.CheckboxSelectMultiple
    )
    note = forms.CharField(
        label="What it is and where it was found",
        required=False,
        max_length=300,
        help_text="For a statement: who said it, when, and how they know.",
    )
    grade = forms.TypedChoiceField(
        label="How it is known", required=False, choices=GRADES, coerce=int, empty_value=None
    )
    document = forms.FileField(
        label="The document itself",
        required=False,
        widget=forms.FileInput({"accept": f"{JPEG},image/png,image/webp,{PDF}"}),
        help_text=f"A photograph, a scan or a PDF, up to {MOST_BYTES / 1e6:.0f} MB. "
        "A document of the time needs it; it goes into the car’s log.",
    )
    hard = forms.TypedChoiceField(
        label="How sure",
        required=False,
        choices=HARDNESS,
        coerce=lambda word: word == "True",
        empty_value=None,
    )

    def __init__(
        self, *args: Any, kind: choices.EvidenceKind, edge: Edge, old: Evidence | None, **kwargs: Any
    ):
        super().__init__(*args, **kwargs)
        self.kind, self.edge, self.old = kind, edge, old
        asked = choices.evidence_fields(kind)
        for name in {"on", "until", "code", "count", "odometer_km", "event"} - asked:
            del self.fields[name]
        if kind.questions:
            self.fields["answers"].choices = list(kind.questions)  # type: ignore[attr-defined]  # a choice field
        else:
            del self.fields["answers"]
        if old is not None:
            self.initial.update(self._filled(old))
        self._fit()

    def _fit(self) -> None:
        """Fit code and odometer to the kind of evidence and to the person."""
        if "code" in self.fields:
            self.fields["code"].help_text = CODES.get(self.kind.name, "")
        if "odometer_km" in self.fields:
            odometer: Any = self.fields["odometer_km"]
            odometer.use_units(self.edge, self.initial.get("odometer_km"))
            odometer.required = self.kind.name.startswith("odometer")

    def _filled(self, old: Evidence) -> dict[str, Any]:
        filled = {
            name: getattr(old, name) for name in self.fields if hasattr(old, name) and name != "document"
        }
        return filled | {"hard": "" if old.hard is None else str(old.hard)}

    def clean(self) -> dict[str, Any]:
        """The document as it may be stored, as a list of one or none."""
        cleaned_data: dict[str, Any] = super().clean() or self.cleaned_data
        sent = cleaned_data.get("document")
        try:
            files = clean_apart([(sent.name, sent.read())] if sent else [], keep_place=False)
        except Refused as error:
            self.add_error("document", str(error))
            files = []
        return cleaned_data | {"document": files}

    def row(self, vehicle: Vehicle) -> Evidence:
        """The find as a row, distances in kilometres."""
        own = {name: it for name, it in self.cleaned_data.items() if name not in ("key", "document")}
        values = {name: it for name, it in own.items() if it is not None}
        return Evidence(vehicle=vehicle, kind=self.kind.name, corrects=self.old, **values)


class WithdrawEvidenceForm(KeyedForm):
    """A find that should never have been written down."""

    reason = forms.CharField(max_length=300, label="Why it is taken back")


class CaseForm(RecordForm):
    """How the car was put away, as far as anybody knows."""

    damp = forms.ChoiceField(label="Where it stood", required=False, choices=Damp.choices)
    conditions = forms.MultipleChoiceField(
        label="What else is known",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        choices=choices.conditions,
    )

    class Meta(RecordForm.Meta):
        model = RecommissionCase
        fields = ("known_preparation", "damp", "conditions")


class HandbookForm(PlainForm):
    """This car's own value for one measured step; empty: the general value stands."""

    source = forms.CharField(label="Where it is written", required=False, max_length=200)

    def __init__(
        self, *args: Any, check: choices.Check, own: HandbookValue | None, edge: Edge, **kwargs: Any
    ) -> None:
        self.step, self.own, self.edge = check, own, edge
        self.unit = edge.unit(choices.units_of(check)[0]).name
        initial: dict[str, Any] = {"low": own.low, "high": own.high, "source": own.source} if own else {}
        super().__init__(*args, prefix=check.key, initial=initial, **kwargs)
        for end, name in (("low", "From"), ("high", "To")):
            end_field = MeasureField(name=name, stored_as=choices.units_of(check)[0])
            end_field.use_units(edge, initial.get(end))
            self.fields[end] = end_field
        self.order_fields(["low", "high", "source"])
        for field in self.fields.values():
            field.widget.attrs["aria-label"] = f"{check.measure}: {str(field.label).lower()}"

    @property
    def limits(self) -> list[tuple[str, str]]:
        """The general values."""
        return choices.limits(self.step, self.edge)

    def clean(self) -> dict[str, Any]:
        """All three or none."""
        values: dict[str, Any] = super().clean() or {}
        filled = [name for name in self.fields if values.get(name) not in (None, "")]
        if filled and not self.errors:
            for name in self.fields.keys() - set(filled):
                self.add_error(name, "Give lowest, highest and source, or leave all three empty.")
        return values

    def value(self, vehicle: Vehicle) -> HandbookValue | None:
        """The own value, if one was typed."""
        if self.cleaned_data.get("low") is None:
            return None
        row = self.own or HandbookValue(vehicle=vehicle, check_key=self.step.key)
        row.low, row.high = self.cleaned_data["low"], self.cleaned_data["high"]
        row.source = self.cleaned_data["source"]
        return row


class HazardsForm(KeyedForm):
    """Which hazards are there now."""

    present = forms.MultipleChoiceField(
        label="There now",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        choices=lambda: [(name, capfirst(words)) for name, words in choices.hazards().items()],
    )


class EndingForm(KeyedForm):
    """Which care follows."""

    regime = forms.ChoiceField(
        label="From now on the car is",
        widget=forms.RadioSelect,
        choices=[(one.value, one.label) for one in (Regime.EXERCISED, Regime.PRESERVED)],
    )
    note = forms.CharField(
        label="In a sentence", required=False, max_length=500, widget=forms.Textarea(attrs={"rows": 2})
    )

    def ending(self) -> Ending:
        """What was chosen."""
        return Ending(self.cleaned_data["regime"], self.cleaned_data["note"])
