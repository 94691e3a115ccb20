"""Tags that forbid: hung on, taken off."""

from typing import Any

from django import forms

from collection.care.forms.base import CareForm
from collection.models import CareKind, Entry
from collection.web.templatetags.longstand import day
from scheduler.vocabulary.tags import TAG, TAGGED_PARTS


def tag_words(tag: Entry) -> str:
    """A tag as it reads on the car."""
    return f"{TAG[tag.details['tag']].title}: {tag.details['where']}"


class TagOpenedForm(CareForm):
    """A tag is hung: the car may no longer do what it forbids."""

    kind = CareKind.TAG_OPENED

    def fit(self) -> None:
        """Where the part is not said, it is not simply not known."""
        parts = [("", "Not said: the strictest is taken"), *((row.code, row.title) for row in TAGGED_PARTS)]
        self.fields["system"].choices = parts  # type: ignore[attr-defined]  # of a choice


class TagClosedForm(CareForm):
    """A tag comes off: what it named has been put right."""

    kind = CareKind.TAG_CLOSED

    def fit(self) -> None:
        """The tags that hang now; in a correction also the one that was taken off."""
        choices = [(str(tag.pk), f"{tag_words(tag)}, since {day(tag.done_at)}") for tag in self.car.tags]
        off: Any = self.car.entry.details.get("opened") if self.car.entry else None
        if off:
            choices.append((off, "The tag chosen before"))
        self.fields["opened"] = forms.ChoiceField(
            label="Which tag", widget=forms.RadioSelect, choices=choices
        )
