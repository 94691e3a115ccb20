"""Entries that are words: a note, work not done and why, an entry that never happened."""

from typing import Any, ClassVar

from django import forms

from collection.care.forms.base import CareForm
from collection.care.rules import DETAILS
from collection.life.duties import DUTY_TITLES
from collection.models import CareKind, Entry
from scheduler.vocabulary.duties import DUTY
from scheduler.vocabulary.own_duties import is_own

OTHER = "Other"
REASONS = (
    "No time",
    "Blocked in by another car",
    "Locked, no key",
    "Equipment missing or faulty",
    "Weather",
    "Not safe to do",
    "Would not start",
    "Owner asked to leave it",
    OTHER,
)


class NoteForm(CareForm):
    """Anything worth keeping."""

    kind = CareKind.NOTE

    def fit(self) -> None:
        """Here the note is the entry."""
        self.fields["note"].required = True
        self.fields["note"].widget.attrs["rows"] = 4

    def details(self) -> dict[str, Any]:
        """A corrected note stays what it was: a finding, or the answer to one."""
        old = self.car.entry.details if self.car.entry else {}
        return {key: old[key] for key in DETAILS[CareKind.NOTE] if key in old}


class NotDoneForm(CareForm):
    """Work that was due and was not done."""

    kind = CareKind.NOT_DONE
    own: ClassVar = ("duty", "reason", "words")

    duty = forms.ChoiceField(label="Work", choices=list(DUTY_TITLES.items()))
    reason = forms.ChoiceField(label="Reason", choices=[("", "Choose"), *((r, r) for r in REASONS)])
    words = forms.CharField(label="In your words", required=False, max_length=160)

    def fit(self) -> None:
        """On the week page the work is known."""
        if is_own(self.car.duty):
            own = (self.car.duty, DUTY[self.car.duty].title)
            self.fields["duty"].choices = [own]  # type: ignore[attr-defined]  # of a choice
        if self.car.duty:
            self.initial["duty"] = self.car.duty
            if self.car.short:
                self.fields["duty"].widget = forms.HiddenInput()

    def clean(self) -> dict[str, Any]:
        """Other needs words."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        if cleaned.get("reason") == OTHER and not cleaned.get("words"):
            self.add_error("words", "Say why in a few words.")
        return cleaned

    def details(self) -> dict[str, Any]:
        """Reason and words as one text."""
        reason, words = self.cleaned_data["reason"], self.cleaned_data["words"]
        text = words if reason == OTHER else ": ".join(filter(None, [reason, words]))
        return {"duty": self.cleaned_data["duty"], "reason": text}

    def filled_from(self, entry: Entry) -> dict[str, Any]:
        """Part the one text again."""
        text = entry.details.get("reason", "")
        reason, _, words = text.partition(": ")
        known = reason in REASONS and reason != OTHER
        parts = {"reason": reason, "words": words} if known else {"reason": OTHER, "words": text}
        return super().filled_from(entry) | parts


class WithdrawForm(CareForm):
    """The entry to be corrected never happened."""

    kind = CareKind.WITHDRAWN

    def fit(self) -> None:
        """Why matters, when does not."""
        del self.fields["done_at"]
        self.fields["note"].label = "Why"

    def filled_from(self, _entry: Entry) -> dict[str, Any]:
        """Nothing is repeated."""
        return {}
