"""What a link shows, to whom, until when."""

from datetime import date, datetime, time, timedelta
from typing import Any

from django import forms
from django.utils import timezone

from collection.history.side_by_side import MOST
from collection.web.measures import DayInput, PlainForm

A_FORTNIGHT = timedelta(days=14)
SCOPE = ("reader", "first", "last", "with_owner", "with_place", "with_prices", "with_notes", "with_files")


class ShareForm(PlainForm):
    """Names and costs are left out unless they are ticked."""

    reader = forms.CharField(
        label="For whom", max_length=120, help_text="For your own list; the reader does not see it."
    )
    first = forms.DateField(
        label="From", required=False, widget=DayInput, help_text="Empty for the whole history."
    )
    last = forms.DateField(
        label="To",
        required=False,
        widget=DayInput,
        help_text="Empty to include its state now, what is due and the outlook.",
    )
    with_owner = forms.BooleanField(label="Show the owner's name", required=False)
    with_place = forms.BooleanField(
        label="Show the place",
        required=False,
        help_text="Site, building, bay and who keeps it. Without: only the kind of shelter and its air.",
    )
    with_prices = forms.BooleanField(label="Show estimated costs", required=False)
    with_notes = forms.BooleanField(
        label="Show notes as they were written",
        required=False,
        initial=True,
        help_text="Names that are not shown are taken out of them; read them yourself all the same.",
    )
    with_files = forms.BooleanField(
        label="Show photographs and documents",
        required=False,
        help_text="As they are: look at each for names, plates and places that you do not want to show.",
    )
    ends = forms.DateField(
        label="Ends after", widget=DayInput, help_text="A year at most. You may end it sooner at any time."
    )

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.fields["ends"].initial = today + A_FORTNIGHT

    def clean_first(self) -> date | None:
        """A period that has not begun tells nothing."""
        first: date | None = self.cleaned_data["first"]
        if first and first > self.today:
            raise forms.ValidationError("“From” is in the future: give today or an earlier day.")
        return first

    def clean_ends(self) -> date:
        """Not in the past."""
        ends: date = self.cleaned_data["ends"]
        if ends < self.today:
            raise forms.ValidationError("This day is past: choose today or a later day.")
        return ends

    def scope(self) -> dict[str, Any]:
        """The link's own fields."""
        return {name: self.cleaned_data[name] for name in SCOPE}

    def expires_at(self) -> datetime:
        """The end of the last day, in the zone in force."""
        after = self.cleaned_data["ends"] + timedelta(days=1)
        return timezone.make_aware(datetime.combine(after, time.min))


class LinksForm(PlainForm):
    """Several links, one a line."""

    links = forms.CharField(
        label="Links, one a line",
        max_length=2000,
        widget=forms.Textarea({"rows": 4, "spellcheck": "false"}),
        help_text=f"Two to {MOST} links that were sent to you.",
    )

    def clean_links(self) -> list[str]:
        """The tokens in the links."""
        words = str(self.cleaned_data["links"]).split()
        tokens = list(
            dict.fromkeys(word.rstrip("/").removesuffix("/pdf").rsplit("/", 1)[-1] for word in words)
        )
        if not 2 <= len(tokens) <= MOST:
            raise forms.ValidationError(f"Give two to {MOST} different links, one a line.")
        return tokens
