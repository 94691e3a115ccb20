"""Which cars a timeline shows, in which order, and of which kind of work."""

from typing import Any

from django import forms

from collection.due.cells import DUTIES_OF, PARTS
from collection.due.queries.timeline import CAR, OWNER, PLACE, WORK
from collection.models import Owner, Site
from collection.permissions import Access

MOST_CHOICES = 100  # of a list


class TimelineFilter(forms.Form):
    """Every field may be left out."""

    by = forms.ChoiceField(
        label="In the order of",
        choices=[("", "places"), (OWNER, "owners"), (CAR, "makes"), (WORK, "kinds of work")],
        required=False,
    )
    work = forms.ChoiceField(
        label="Kind of work",
        choices=[("", "all"), *((part.code, part.title) for part in PARTS if DUTIES_OF[part.code])],
        required=False,
    )
    site: "forms.ModelChoiceField[Site]" = forms.ModelChoiceField(
        None, required=False, empty_label="all sites"
    )
    owner: "forms.ModelChoiceField[Owner]" = forms.ModelChoiceField(
        None, required=False, empty_label="all owners"
    )

    def __init__(self, *args: Any, access: Access, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, rows in (("site", access.sites()), ("owner", access.owners())):
            self.fields[name].queryset = rows  # type: ignore[attr-defined]  # a ModelChoiceField
            if not 1 < rows.count() <= MOST_CHOICES:
                del self.fields[name]

    def asked(self) -> dict[str, Any]:
        """What is asked for; a choice that is not understood is left out and told under its field."""
        self.is_valid()
        asked = self.cleaned_data
        site, owner = asked.get("site"), asked.get("owner")
        return {
            "by": asked.get("by") or PLACE,
            "work": asked.get("work", ""),
            "site": site.pk if site else None,
            "owner": owner.pk if owner else None,
        }
