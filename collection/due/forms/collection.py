"""Which cars of the collection somebody wants to see, in which order, as rows or as tiles."""

from typing import Any

from django import forms

from collection.due.cells import PARTS
from collection.due.queries.collection import BY_COLUMN, Shown
from collection.models import Owner, Site
from collection.permissions import Access

MOST_CHOICES = 100  # of a list; more are found by name
TILES = "tiles"


class CollectionFilter(forms.Form):
    """Every field may be left out; what is not understood is told under its field."""

    text = forms.CharField(
        label="Find in the list", required=False, max_length=60, widget=forms.TextInput({"type": "search"})
    )
    site: "forms.ModelChoiceField[Site]" = forms.ModelChoiceField(
        None, required=False, empty_label="all sites"
    )
    owner: "forms.ModelChoiceField[Owner]" = forms.ModelChoiceField(
        None, required=False, empty_label="all owners"
    )
    show = forms.ChoiceField(
        choices=[("", "every car"), ("pressing", "what wants something now")], required=False
    )
    sort = forms.CharField(required=False, max_length=12, widget=forms.HiddenInput)
    view = forms.CharField(required=False, max_length=5, widget=forms.HiddenInput)

    def __init__(self, *args: Any, access: Access, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, rows in (("site", access.sites()), ("owner", access.owners())):
            field = self.fields[name]
            field.queryset = rows  # type: ignore[attr-defined]  # a ModelChoiceField, declared above
            if not 1 < rows.count() <= MOST_CHOICES:
                del self.fields[name]

    @property
    def column(self) -> str:
        """The column by which the list is sorted; empty for the usual order."""
        name = self.data.get("sort", "").removeprefix("-")
        return name if name in BY_COLUMN or name in {part.code for part in PARTS} else ""

    @property
    def last_first(self) -> bool:
        """Whether the column is sorted the other way round."""
        return bool(self.column) and self.data["sort"].startswith("-")

    @property
    def as_tiles(self) -> bool:
        """Whether cars are shown as tiles."""
        return self.data.get("view") == TILES

    def shown(self) -> Shown:
        """What is asked for."""
        self.is_valid()
        asked = self.cleaned_data
        owner, site = asked.get("owner"), asked.get("site")
        return Shown(
            text=asked.get("text", ""),
            site=site.pk if site else None,
            owner=owner.pk if owner else None,
            pressing=bool(asked.get("show")),
            column=self.column,
            last_first=self.last_first,
        )
