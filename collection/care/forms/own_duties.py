"""A duty that a keeper added, done: it moves on, or is no longer asked for."""

from typing import Any

from django import forms

from collection.care.forms.base import CareForm
from collection.models import CareKind


class OwnDutyForm(CareForm):
    """Which of the car's own duties was done; a certificate may come with it."""

    kind = CareKind.OWN_DUTY

    def fit(self) -> None:
        """The car's own, of which the page that led here may name one."""
        duties = self.car.vehicle.own_duties.all()
        before = self.car.entry.details.get("own") if self.car.entry else None
        self.titles = {d.code: d.title for d in duties if d.ended_on is None or d.code == before}
        known = self.car.duty in self.titles
        widget = forms.HiddenInput if known and self.car.short else forms.Select
        self.fields["own"] = forms.ChoiceField(label="Which", choices=[*self.titles.items()], widget=widget)
        if known:
            self.initial["own"] = self.car.duty

    def details(self) -> dict[str, Any]:
        """With its title, so that the entry reads by itself for ever."""
        own = self.cleaned_data["own"]
        return super().details() | {"own": own, "what": self.titles[own]}
