"""What the phone's queue sends: one entry with its envelope, as hostile as any input until checked."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict

from collection.care import core as choices
from collection.care.forms.steps import SEEN_TO, STEP_FORMS
from collection.models import CareKind, Units
from scheduler.vocabulary.duties import is_duty

MOST_FIELDS, LONGEST = 60, 2000
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
    car = forms.IntegerField(min_value=1)
    kind = forms.ChoiceField(choices=[(kind, kind) for kind in STEP_FORMS])
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
        if cleaned.get("kind") == SEEN_TO and not cleaned.get("finding"):
            self.add_error("finding", "Say which finding has been seen to.")
        if cleaned.get("kind") in ABOUT and not cleaned.get("check") and "check" not in self.errors:
            self.add_error("check", ABOUT[cleaned["kind"]])
        return cleaned

    def faults(self) -> dict[str, list[str]]:
        """What is wrong, by name."""
        return {name.rstrip("_"): [str(text) for text in texts] for name, texts in self.errors.items()}
