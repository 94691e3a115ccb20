"""The tyres, walking round the car."""

from typing import Any

from collection.models import Tyre, Vehicle
from collection.web.measures import MeasureField, RecordForm


class StandsForm(RecordForm):
    """Whether the wheels carry the car."""

    class Meta(RecordForm.Meta):
        model = Vehicle
        fields = ("on_stands",)
        labels = {"on_stands": "On stands, wheels off the ground"}  # noqa: RUF012


class TyreForm(RecordForm):
    """One tyre as read at the wheel."""

    placard_kpa = MeasureField(name="Pressure on the placard", stored_as="kPa", low=50, high=900)

    class Meta(RecordForm.Meta):
        model = Tyre
        fields = ("date_code", "placard_kpa")
        labels = {"date_code": "Date code"}  # noqa: RUF012

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["date_code"].widget.attrs |= {"inputmode": "numeric", "autocomplete": "off", "size": "6"}
