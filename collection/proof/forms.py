"""Who is to be a witness, and what somebody countersigned."""

from typing import Any

from django import forms

from collection.chain.canonical import NotReadable, read
from collection.chain.countersigning import OCCASIONS, ROLES
from collection.chain.shape import COUNTERSIGNATURE, misfits
from collection.chain.statements import names
from collection.models import Witness
from collection.web.measures import PlainForm

MOST_SIGNED = 20_000  # characters: a passkey's answer has about 1,500


class WitnessForm(PlainForm):
    """Somebody outside."""

    kind = forms.ChoiceField(label="How", choices=Witness.Kind.choices, initial=Witness.Kind.MAIL)
    name = forms.CharField(label="Who it is", max_length=80, help_text="The owner, an insurer, an authority.")
    to = forms.CharField(
        label="Mail address, or address of the authority",
        max_length=400,
        widget=forms.TextInput({"spellcheck": "false", "autocomplete": "off"}),
        help_text="An authority’s begins with https:// and is on the open internet.",
    )


class CountersignForm(PlainForm):
    """As whom somebody signs, and, filled in by the page, what was signed in the browser."""

    role = forms.ChoiceField(label="You sign as", choices=[(code, word) for code, word in ROLES.items()])
    occasion = forms.ChoiceField(label="When", choices=[(code, word) for code, word in OCCASIONS.items()])
    name = forms.CharField(label="Your name", max_length=120)
    signed = forms.CharField(widget=forms.HiddenInput, required=False, max_length=MOST_SIGNED)

    def clean(self) -> dict[str, Any]:
        """What was signed is of our form, and says what the fields say."""
        values: dict[str, Any] = super().clean() or {}
        if self.errors:
            return values
        try:
            signed = read(str(values["signed"]).encode())
        except NotReadable:
            signed = None
        if any(True for _ in misfits(signed, COUNTERSIGNATURE)):
            raise forms.ValidationError("Nothing was signed: choose a key file or a passkey, and sign.")
        statement, named = signed["statement"], signed["named"]
        said = (statement["as"], statement["occasion"], named and named["name"])
        if said != (values["role"], values["occasion"], values["name"]) or not names(named, statement):
            raise forms.ValidationError("What was signed is not what stands here: sign again.")
        return values | {"signed": signed}
