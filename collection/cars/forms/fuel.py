"""What is in the tank, as found."""

from typing import Any

from django import forms

from collection.life.core.choices import fuel_grades
from collection.models import Fuel
from collection.web.measures import Groups, MeasureField, RecordForm, offer


class FuelForm(RecordForm):
    """The fuel on the day it was looked at."""

    litres = MeasureField(name="In the tank", stored_as="litres", low=0, high=1000)
    grade = forms.ChoiceField(required=False)

    class Meta(RecordForm.Meta):
        model = Fuel
        fields = ("grade", "bio_pct", "litres", "filled_on", "stabilised_on", "as_of")
        labels = {"bio_pct": "Ethanol or FAME, % by volume", "as_of": "As found on"}  # noqa: RUF012
        help_texts = {  # noqa: RUF012 - read by Django only
            "bio_pct": "Leave empty to take the grade's own share.",
            "filled_on": "When most of this fuel went in.",
            "stabilised_on": "Leave empty if no stabiliser is in it.",
            "as_of": "The day this was true; what is logged later is added to it.",
        }

    GROUPS: Groups = (
        ("What it is", ("grade", "bio_pct")),
        ("How much, since when", ("litres", "filled_on", "stabilised_on", "as_of")),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer(self.fields["grade"], fuel_grades())
        self._know_the_tank(self.fields["litres"])

    def _know_the_tank(self, field: Any) -> None:
        tank = self.instance.vehicle.tank_litres
        if tank is None:
            field.help_text = "The tank's size is not recorded."
        else:
            field.help_text = f"The tank holds {field.unit.format(tank)}."
            field.high = tank
