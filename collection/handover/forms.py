"""Handing a car over, and taking one over."""

from typing import Any

from django import forms
from django.db.models import QuerySet

from collection.cars.forms.vehicles import BayChoice
from collection.chain.handover import MOST_BYTES
from collection.models import Bay, Owner
from collection.web.measures import PlainForm

MOST_RECEIPT = 50_000  # bytes; one has about 1,000
FINGERPRINT = 32  # hexadecimal digits


class HandOverForm(PlainForm):
    """To whom."""

    to = forms.CharField(
        label="Handed over to", max_length=120, help_text="The new keeper, as the log shall say it."
    )
    sure = forms.BooleanField(
        label="It leaves our hands: its links end, and our copy of its log is closed.",
        error_messages={"required": "Tick this to hand the car over."},
    )


class ReceiptForm(PlainForm):
    """What came back from the new keeper."""

    receipt = forms.FileField(label="The receipt that the new keeper saved")

    def clean_receipt(self) -> Any:
        """A few lines, signed."""
        file = self.cleaned_data["receipt"]
        if (file.size or 0) > MOST_RECEIPT:
            raise forms.ValidationError("This file is too large to be a receipt.")
        return file


class ArriveForm(PlainForm):
    """The file, and where the car belongs here."""

    file = forms.FileField(
        label="The file that came with the car",
        help_text="As it was sent: one that was opened and saved is refused.",
    )
    key = forms.CharField(
        label="The sender's key",
        required=False,
        max_length=80,
        help_text="Eight groups of four, asked for by telephone. Without it nobody knows who signed.",
    )
    owner = forms.ModelChoiceField(Owner.objects.none(), empty_label="Choose the owner")
    bay = BayChoice(Bay.objects.none(), required=False, empty_label="In no bay")

    def __init__(self, *args: Any, owners: "QuerySet[Owner]", bays: "QuerySet[Bay]", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["owner"].queryset = owners  # type: ignore[attr-defined]  # a ModelChoiceField
        self.fields["bay"].queryset = bays  # type: ignore[attr-defined]  # as above

    def clean_file(self) -> Any:
        """Not larger than any log of ours."""
        file = self.cleaned_data["file"]
        if (file.size or 0) > MOST_BYTES:
            raise forms.ValidationError("This file is too large to be one of ours: ask for it again.")
        return file

    def clean_key(self) -> str:
        """Spaces and capitals do not matter."""
        key = "".join(str(self.cleaned_data["key"]).split()).lower()
        if key and (len(key) != FINGERPRINT or set(key) - set("0123456789abcdef")):
            raise forms.ValidationError("A key has 32 digits from 0 to 9 and a to f: ask for it again.")
        return key
