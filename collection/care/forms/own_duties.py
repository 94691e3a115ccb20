"""A duty that a keeper added, done: it moves on, or is no longer asked for."""

from typing import Any

from django import forms

from collection.care.forms.base import CareForm
from collection.models import CareKind
from scheduler.vocabulary.duties import DUTY
from scheduler.vocabulary.own_duties import is_own


class OwnDutyForm(CareForm):
    """Which of the car's own duties was done; a certificate may come with it."""

    kind = CareKind.OWN_DUTY

    def fit(self) -> None:
        """The car's own; on the round the work is known, and nothing is asked of the database."""
        if self.car.short and is_own(self.car.duty):
            choices = [(self.car.duty, DUTY[self.car.duty].title)]
            self.fields["own"] = forms.ChoiceField(choices=choices, widget=forms.HiddenInput)
        else:
            choices = self._of_the_car()
            self.fields["own"] = forms.ChoiceField(label="Which", choices=choices)
        if self.car.duty in dict(choices):
            self.initial["own"] = self.car.duty

    def _of_the_car(self) -> list[tuple[str, str]]:
        """Those that are still asked for; in a correction also the one that was named."""
        before = self.car.entry.details.get("own") if self.car.entry else None
        duties = self.car.vehicle.own_duties.all()
        return [(d.code, d.title) for d in duties if d.ended_on is None or d.code == before]

    def details(self) -> dict[str, Any]:
        """With its title, so that the entry reads by itself for ever."""
        own = self.cleaned_data["own"]
        titles = {duty.code: duty.title for duty in self.car.vehicle.own_duties.all()}
        return super().details() | {"own": own, "what": titles.get(own, "")}
