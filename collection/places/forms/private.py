"""Keys, alarms and addresses."""

from django import forms

from collection.web.measures import PlainForm


def _lines(label: str, longest: int, help_text: str = "") -> forms.CharField:
    area = forms.Textarea({"rows": 3, "autocomplete": "off"})
    return forms.CharField(label=label, max_length=longest, required=False, help_text=help_text, widget=area)


class CarNotesForm(PlainForm):
    """Where a car's keys are and what guards it."""

    keys_at = forms.CharField(
        label="Keys",
        max_length=120,
        required=False,
        help_text="Which safe, board or hook.",
        widget=forms.TextInput({"autocomplete": "off"}),
    )
    alarm = _lines("Alarm and immobiliser", 1000, "Switches, fobs, what sets it off.")


class SiteNotesForm(PlainForm):
    """Where a site is, how one gets in, what guards it."""

    address = _lines("Address", 400)
    way_in = _lines("Way in", 1000, "Gates, locks, whom to ring. Better write no code.")
    alarm = _lines("Alarm", 1000, "What to do when it sounds, and whom to call.")
