"""The battery in the car, as one reads it off the case and the meter."""

from typing import Any

from django import forms

from collection.life.core.choices import chemistries
from collection.models import Battery
from collection.web.measures import Groups, RecordForm, offer


class BatteryForm(RecordForm):
    """The battery that is in the car now."""

    chemistry = forms.ChoiceField(required=False)

    class Meta(RecordForm.Meta):
        model = Battery
        fields: tuple[str, ...] = (
            "chemistry",
            "volts",
            "capacity_ah",
            "made_on",
            "installed_on",
            "isolated",
            "maintainer_since",
            "drain_ma",
            "full_sg",
            "removed_on",
        )
        labels = {"isolated": "Isolator fitted and open", "removed_on": "Taken out of the car on"}  # noqa: RUF012
        help_texts = {  # noqa: RUF012 - read by Django only
            "chemistry": "As printed on the case.",
            "made_on": "From the code on the case; the first of the month will do.",
            "maintainer_since": "Leave empty when it is not on a maintainer.",
            "drain_ma": "Measured with everything off and the car asleep; leave empty if never measured.",
            "full_sg": "Only if the maker gives one; such as 1.265.",
            "removed_on": "Leave empty while it is in the car.",
        }

    GROUPS: Groups = (
        ("On the case", ("chemistry", "volts", "capacity_ah", "made_on")),
        ("In the car", ("installed_on", "isolated", "maintainer_since", "drain_ma")),
        ("Less often needed", ("full_sg", "removed_on")),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer(self.fields["chemistry"], chemistries())


class NewBatteryForm(BatteryForm):
    """A battery that goes in now in place of the one before."""

    class Meta(BatteryForm.Meta):
        fields = tuple(name for name in BatteryForm.Meta.fields if name != "removed_on")

    GROUPS: Groups = (
        ("On the case", ("chemistry", "volts", "capacity_ah", "made_on")),
        ("In the car", ("installed_on", "isolated", "maintainer_since", "drain_ma", "full_sg")),
    )
