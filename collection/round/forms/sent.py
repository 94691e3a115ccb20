"""What the phone's queue sends: one entry with its envelope, as hostile as any input until checked."""

from collections.abc import Sequence
from datetime import date
from typing import Any
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict

from collection.care import core as choices
from collection.care.forms.steps import SEEN_TO, STEP_FORMS
from collection.care.forms.words import OTHER, REASONS
from collection.models import CareKind, Person, Units
from collection.round.actions.shifts import MOST_WORDS
from collection.web.measures import DayInput, PlainForm
from scheduler.vocabulary.duties import is_duty

MOST_FIELDS, LONGEST = 400, 2000  # a row of sixty cars has a few fields each
ROW, PASS_ON, SHIFT_NOTE = "row", "pass_on", "shift_note"  # of the round itself, beside the care of one car
NO_STEP = "There is no such step to log: open the car's recommissioning afresh."
ABOUT: dict[str, str] = {  # kinds that must say what they are the result of
    CareKind.WAKING_RESULT: "Say which step of the recommissioning this is the result of.",
    CareKind.FAULT_TEST: "Say which test of which search this is the result of.",
}


class FieldsField(forms.Field):
    """Names with a text or a list of texts each, as a browser's form has them; cleaned to a QueryDict."""

    def to_python(self, value: Any) -> QueryDict:
        """The fields as a form takes them."""
        if not isinstance(value, dict) or len(value) > MOST_FIELDS:
            raise ValidationError(f"Send an object of at most {MOST_FIELDS} fields.")
        fields = QueryDict(mutable=True)
        for name, texts in value.items():
            texts = texts if isinstance(texts, list) else [texts]
            if len(texts) > MOST_FIELDS or not all(_is_text(text) for text in texts):
                raise ValidationError(f"{name}: send a text, or a list of texts, up to {LONGEST} characters.")
            fields.setlist(name, texts)
        return fields


def _is_text(text: Any) -> bool:
    return isinstance(text, str) and len(text) <= LONGEST


class SentForm(forms.Form):
    """The envelope of one entry."""

    key = forms.CharField(min_length=8, max_length=60)
    car = forms.IntegerField(min_value=1, required=False)  # none for a row and a note of the shift
    site = forms.IntegerField(min_value=1, required=False)  # of a note of the shift
    kind = forms.ChoiceField(choices=[(kind, kind) for kind in (*STEP_FORMS, ROW, PASS_ON, SHIFT_NOTE)])
    duty = forms.CharField(max_length=20, required=False)
    check = forms.CharField(max_length=81, required=False)  # a step, or symptom/test of a search for a fault
    units = forms.ChoiceField(choices=Units.choices)  # those in which the page on the phone asked
    done_at = forms.DateTimeField(required=False)
    seen = forms.DateTimeField(required=False)
    finding = forms.UUIDField(required=False)
    fields_ = FieldsField()

    def __init__(self, sent: Any) -> None:
        plain = sent if isinstance(sent, dict) else {}
        super().__init__(
            {name: plain.get(name) for name in self.base_fields} | {"fields_": plain.get("fields")}
        )

    def clean_duty(self) -> str:
        """One of ours, or one that a keeper added."""
        duty: str = self.cleaned_data["duty"]
        if duty and not is_duty(duty):
            raise ValidationError("There is no such work: open the worksheet afresh.")
        return duty

    def clean_check(self) -> str:
        """A step of a recommissioning, or a test of a search, as its kind asks for one."""
        check: str = self.cleaned_data["check"]
        is_test = self.cleaned_data.get("kind") == CareKind.FAULT_TEST
        if check and not (choices.is_fault_test(check) if is_test else choices.is_by_hand(check)):
            raise ValidationError(NO_STEP)
        return check

    def clean(self) -> dict[str, Any]:
        """What is seen to must be named, and so must a step or a test."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        kind = cleaned.get("kind")
        if kind not in (ROW, SHIFT_NOTE) and not cleaned.get("car") and "car" not in self.errors:
            self.add_error("car", "Say which car this is about.")
        if kind == SHIFT_NOTE and not cleaned.get("site"):
            self.add_error("site", "Say at which site the shift was.")
        if kind == SEEN_TO and not cleaned.get("finding"):
            self.add_error("finding", "Say which finding has been seen to.")
        if cleaned.get("kind") in ABOUT and not cleaned.get("check") and "check" not in self.errors:
            self.add_error("check", ABOUT[cleaned["kind"]])
        return cleaned

    def faults(self) -> dict[str, list[str]]:
        """What is wrong, by name."""
        return {name.rstrip("_"): [str(text) for text in texts] for name, texts in self.errors.items()}


class PassOnForm(PlainForm):
    """To whom a task goes, or to which day, and why it is carried over."""

    day = forms.DateField(label="Carry over to", required=False, widget=DayInput())
    person = forms.ChoiceField(label="Give it to", required=False)
    reason = forms.ChoiceField(
        label="Because", required=False, choices=[("", "–"), *((r, r) for r in REASONS if r != OTHER)]
    )

    def __init__(
        self, data: QueryDict | None = None, *, people: Sequence[Person], today: date, **kwargs: Any
    ) -> None:
        super().__init__(data, **kwargs)
        self.people = {str(person.pk): person for person in people}
        names = [(pk, str(person)) for pk, person in self.people.items()]
        self.fields["person"].choices = [("", "–"), *names]  # type: ignore[attr-defined]  # a ChoiceField
        self.fields["day"].widget.attrs["min"] = today.isoformat()

    def clean_person(self) -> Person | None:
        """The colleague."""
        return self.people.get(self.cleaned_data["person"])

    def clean(self) -> dict[str, Any]:
        """To somebody, or to a day."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        if not self.errors and not cleaned.get("day") and not cleaned.get("person"):
            raise ValidationError("Choose a day or a person.")
        return cleaned


class NoteForm(PlainForm):
    """The note at the end of a shift."""

    words = forms.CharField(
        label="For the next shift", max_length=MOST_WORDS, widget=forms.Textarea(attrs={"rows": 3})
    )
    key = forms.CharField(widget=forms.HiddenInput, max_length=60, min_length=8, initial=uuid4)
