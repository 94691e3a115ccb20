"""What a person wants to see of what is due."""

from typing import Any

from django import forms

from collection.due.queries.cars_due import Wanted
from collection.life.duties import DUTY_TITLES
from collection.models import Owner, Site
from collection.permissions import Access
from scheduler.vocabulary.own_duties import OTHER

# A list of thousands costs more than the rest of a page: above this many, owners are asked for by name.
MOST_CHOICES = 100

HORIZONS = [
    ("", "any time"),
    ("7", "7 days"),
    ("14", "2 weeks"),
    ("31", "1 month"),
    ("92", "3 months"),
    ("366", "1 year"),
]


class DueFilter(forms.Form):
    """Site, owner, duty and horizon; each shown only where there is something to choose."""

    site: "forms.ModelChoiceField[Site]" = forms.ModelChoiceField(
        None, required=False, empty_label="all sites"
    )
    owner: "forms.ModelChoiceField[Owner]" = forms.ModelChoiceField(
        None, required=False, empty_label="all owners"
    )
    duty = forms.ChoiceField(
        choices=[("", "all duties"), *DUTY_TITLES.items(), (OTHER, "papers and own duties")], required=False
    )
    horizon = forms.ChoiceField(label="Due within", choices=HORIZONS, required=False)

    def __init__(self, *args: Any, access: Access, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, rows in (("site", access.sites()), ("owner", access.owners())):
            field = self.fields[name]
            field.queryset = rows  # type: ignore[attr-defined]  # a ModelChoiceField, declared above
            count = rows.count()
            if count < 2:
                del self.fields[name]
            elif count > MOST_CHOICES and name == "owner":
                self.fields[name] = forms.CharField(label="Owner's name", required=False, max_length=60)

    def wanted(self) -> Wanted:
        """What is asked for; a choice that is not understood is left out and told under its field."""
        self.is_valid()
        asked = self.cleaned_data
        owner, site = asked.get("owner"), asked.get("site")
        return Wanted(
            site=site.pk if site else None,
            owner=owner.pk if isinstance(owner, Owner) else owner,
            duty=asked.get("duty", ""),
            horizon_days=int(asked["horizon"]) if asked.get("horizon") else None,
        )
