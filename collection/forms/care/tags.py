"""Tags that forbid: hung on, taken off."""

from typing import Any

from django import forms

from collection.actions.care_rules import TAGS
from collection.bridge.waking.choices import part_systems
from collection.forms.care.base import CareForm
from collection.models import CareKind, Entry
from collection.templatetags.longstand import day

PARTS = [*part_systems(), ("cooling", "Cooling")]


def tag_words(tag: Entry) -> str:
    """A tag as it reads on the car."""
    return f"{TAGS[tag.details['tag']]}: {tag.details['where']}"


class TagOpenedForm(CareForm):
    """A tag is hung: the car may no longer do what it forbids."""

    kind = CareKind.TAG_OPENED
    verb = "Hang the tag"

    tag = forms.ChoiceField(label="Tag", widget=forms.RadioSelect, choices=list(TAGS.items()))
    system = forms.ChoiceField(
        label="Which part of the car",
        required=False,
        choices=[("", "Not said: the strictest is taken"), *PARTS],
        help_text="For a part taken out or a fluid drained: it decides what the tag forbids.",
    )
    where = forms.CharField(
        max_length=100, label="What and where", help_text="Sump drained, plug in the door."
    )


class TagClosedForm(CareForm):
    """A tag comes off: what it named has been put right."""

    kind = CareKind.TAG_CLOSED
    verb = "Take the tag off"

    opened = forms.ChoiceField(label="Which tag", widget=forms.RadioSelect)

    def fit(self) -> None:
        """The tags that hang now; in a correction also the one that was taken off."""
        choices = [(str(tag.pk), f"{tag_words(tag)}, since {day(tag.done_at)}") for tag in self.car.tags]
        off: Any = self.car.entry.details.get("opened") if self.car.entry else None
        if off:
            choices.append((off, "The tag chosen before"))
        self.fields["opened"] = forms.ChoiceField(
            label="Which tag", widget=forms.RadioSelect, choices=choices
        )
