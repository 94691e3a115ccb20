"""One fluid of the car."""

from typing import Any

from django import forms

from collection.life.core.choices import fluid_types
from collection.models import Fluid
from collection.web.measures import RecordForm, offer
from scheduler.vocabulary.fluids import FLUID


class FluidForm(RecordForm):
    """What kind is in, since when; coolant also how strong."""

    type = forms.ChoiceField(required=False)

    class Meta(RecordForm.Meta):
        model = Fluid
        fields = ("type", "changed_on", "glycol_pct")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer(self.fields["type"], fluid_types(self.instance.kind))
        if not FLUID[self.instance.kind].takes_glycol:
            del self.fields["glycol_pct"]
