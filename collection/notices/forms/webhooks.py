"""An address that is told of changed dates."""

from django import forms

from collection.web.measures import PlainForm


class WebhookForm(PlainForm):
    """What it is for, and where."""

    name = forms.CharField(label="What it is for", max_length=80)
    address = forms.CharField(
        label="Address",
        max_length=400,
        widget=forms.TextInput({"type": "url", "spellcheck": "false"}),
        help_text="It begins with https:// and is on the open internet.",
    )
