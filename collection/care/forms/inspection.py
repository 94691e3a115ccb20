"""The inspection of the whole car."""

from typing import Any, ClassVar

from django import forms

from collection.care.forms.base import CareForm
from collection.models import CareKind, Entry

# the inspection list of US Army TM 9-2330-267-14&P, in a storage barn's words
FINDINGS = (
    "Low or flat tyre",
    "Leak under the car",
    "Smell of petrol",
    "Damp or mould",
    "Droppings or nest",
    "Corrosion",
    "Cover torn or off",
    "Damaged or missing part",
    "Maintainer off",
)


class InspectedForm(CareForm):
    """Tick what is wrong; a car with nothing ticked is in order."""

    kind = CareKind.INSPECTED
    own: ClassVar = ("found", "other", "surface_rh")

    found = forms.MultipleChoiceField(
        label="Found",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        choices=[(word, word) for word in FINDINGS],
        help_text="Nothing ticked means that nothing was wrong.",
    )
    other = forms.CharField(label="Something else", required=False, max_length=60)

    def details(self) -> dict[str, Any]:
        """What was found, and so whether all is well."""
        findings = [*self.cleaned_data["found"], *filter(None, [self.cleaned_data["other"]])]
        return {"ok": not findings, "found": findings} if findings else {"ok": True}

    def filled_from(self, entry: Entry) -> dict[str, Any]:
        """Words that are not on the list go into the free field."""
        findings = entry.details.get("found", [])
        other = ", ".join(word for word in findings if word not in FINDINGS)[:60]
        ticked = [word for word in findings if word in FINDINGS]
        return super().filled_from(entry) | {"found": ticked, "other": other}

    def field_of(self, name: str) -> str:
        """Findings are the only detail."""
        return "found" if name == "ok" else super().field_of(name)
