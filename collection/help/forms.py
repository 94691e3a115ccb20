"""What somebody asks Help."""

from django import forms

LONGEST = 100


class SearchForm(forms.Form):
    """Words to look for."""

    q = forms.CharField(
        label="Search Help",
        required=False,
        max_length=LONGEST,
        widget=forms.TextInput({"type": "search", "autocomplete": "off"}),
        error_messages={"max_length": f"Search Help: give {LONGEST} letters at most."},
    )
