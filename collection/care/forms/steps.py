"""Forms as they stand at a step of the worksheet: few fields, told by the browser what they take.

They must serve without a signal, so that what can be wrong is said on the phone itself.
"""

from typing import Any, ClassVar

from django import forms

from collection.care.findings import FINDINGS
from collection.care.forms.base import CareForm
from collection.care.forms.fields import FilesField
from collection.care.forms.recommissioning import FaultTestForm, StepForm
from collection.care.forms.registry import KIND_FORMS
from collection.care.forms.words import NotDoneForm
from collection.models import CareKind
from collection.web.measures import MeasureField

FOUND, SEEN_TO = "found", "seen_to"


class FoundForm(CareForm):
    """Something found at the car that somebody has to see to."""

    kind = CareKind.NOTE
    says = "Add the finding"
    own: ClassVar = ("words", "danger", "found")
    few: ClassVar = own

    words = forms.CharField(label="Where, in your words", required=False, max_length=60)
    danger = forms.BooleanField(label="Danger: put a warning tag on, no start and no move", required=False)
    found = forms.ChoiceField(
        label="Found", choices=[("", "Choose"), *((f.label, f.label) for f in FINDINGS)]
    )

    def clean(self) -> dict[str, Any]:
        """What is on no list needs words."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        if cleaned.get("found") == FINDINGS[-1].label and not cleaned.get("words"):
            self.add_error("words", "Say what was found.")
        return cleaned

    def details(self) -> dict[str, Any]:
        """What was found waits to be answered."""
        return {"found": self.cleaned_data["found"]}


class SeenToForm(CareForm):
    """What was found before has been seen to."""

    kind = CareKind.NOTE
    says = "Seen to"
    own: ClassVar = ("words",)
    few: ClassVar = own

    words = forms.CharField(label="What was done", required=False, max_length=200)


STEP_FORMS: dict[str, type[CareForm]] = KIND_FORMS | {
    FOUND: FoundForm,
    SEEN_TO: SeenToForm,
    StepForm.kind: StepForm,
    FaultTestForm.kind: FaultTestForm,
}


def at_the_step(form: CareForm) -> CareForm:
    """Make a short form tell its limits to the browser; it is dated by the tap, and takes a note."""
    form.fields.pop("done_at", None)
    form.use_required_attribute = True
    if form.kind not in (CareKind.NOTE, CareKind.NOT_DONE):
        form.fields["note"] = forms.CharField(label="Note", required=False, max_length=2000)
    for field in form.fields.values():
        if isinstance(field, MeasureField):
            low, high = (f"{field.unit.from_si(value):.6g}" for value in (field.low, field.high))
            field.widget.attrs |= {"min": low, "max": high}
    return form


def with_photographs(form: CareForm) -> CareForm:
    """Room for photographs at the step: they wait on the phone with the entry."""
    if not isinstance(form, NotDoneForm | SeenToForm):
        form.fields["attachments"] = FilesField()
        form.fields["attachments"].label, form.fields["attachments"].help_text = "Photographs", ""
    return form
