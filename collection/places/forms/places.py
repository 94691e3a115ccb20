"""Sites, buildings, bays and climates."""

from typing import Any

from django import forms
from django.db.models import QuerySet

from collection.drawing.floor import Rect
from collection.models import Bay, Building, Climate, ClimateMonth, Site
from collection.models.places import FARTHEST_M, NARROWEST_M, WIDEST_M
from collection.places.actions.places import COLDEST_C, HOTTEST_C
from collection.places.queries.places import time_zones
from collection.web.measures import (
    DayInput,
    DecimalInput,
    MeasureField,
    PlainForm,
    RecordForm,
    Several,
    WholeInput,
)
from collection.web.units import Edge


class VersionForm(RecordForm):
    """A place whose former figures stay known: since when the new ones are so."""

    since = forms.DateField(
        label="So since",
        required=False,
        widget=DayInput,
        help_text="The day from which what you change is so; empty means today.",
    )
    corrects = forms.BooleanField(
        label="It was never otherwise: this corrects what was written down", required=False
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.pk is None:
            del self.fields["since"], self.fields["corrects"]

    def version(self) -> dict[str, Any]:
        """Since when, and whether it corrects, as parts of an ``Edit``."""
        return {name: self.cleaned_data[name] for name in ("since", "corrects") if name in self.fields}


class SiteForm(VersionForm):
    """A place with one climate and one time zone."""

    time_zone = forms.ChoiceField(help_text="Dates and times of this site are told in this zone.")

    class Meta(RecordForm.Meta):
        model = Site
        fields = ("name", "time_zone", "climate")
        help_texts = {"climate": "One of your own, or a generic type until you have figures."}  # noqa: RUF012

    def __init__(self, *args: Any, climates: "QuerySet[Climate]", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        zones = sorted(time_zones())
        self.fields["time_zone"].choices = [(zone, zone.replace("_", " ")) for zone in zones]  # type: ignore[attr-defined]
        self.fields["climate"].queryset = climates  # type: ignore[attr-defined]  # a ModelChoiceField


class BuildingForm(VersionForm):
    """A building or a yard, and how much weather it keeps off."""

    heated_to_c = MeasureField(
        name="Heated to", stored_as="°C", low=-20, high=40, help_text="Leave empty when it is not heated."
    )

    class Meta(RecordForm.Meta):
        model = Building
        fields = ("name", "shelter", "walk_order", "heated_to_c", "humidity_ceiling_pct")
        help_texts = {"humidity_ceiling_pct": "Leave empty when no dehumidifier runs."}  # noqa: RUF012


class BaysBeside(Several):
    """Bays of one building, by the label on the floor."""

    widget = forms.CheckboxSelectMultiple

    def label_from_instance(self, obj: Any) -> str:
        """A3."""
        return str(obj.label)


class BayForm(RecordForm):
    """One bay: what it has and what stands in its way."""

    blocked_by = BaysBeside(
        queryset=Bay.objects.none(),
        required=False,
        help_text="Bays that must be empty before this one can be driven out.",
    )

    class Meta(RecordForm.Meta):
        model = Bay
        fields = ("row", "place", "power_outlet", "exhaust_extraction", "blocked_by")

    def __init__(self, *args: Any, beside: "QuerySet[Bay]", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["blocked_by"].queryset = beside  # type: ignore[attr-defined]  # a ModelChoiceField


class RowForm(PlainForm):
    """Several bays of a row at once."""

    row = forms.CharField(max_length=10, help_text="As painted on the floor: A.")
    first = forms.IntegerField(label="First place", initial=1, min_value=1, max_value=999, widget=WholeInput)
    last = forms.IntegerField(
        label="Last place",
        min_value=1,
        max_value=999,
        widget=WholeInput,
        help_text="The same number as the first for one bay.",
    )
    power_outlet = forms.BooleanField(label="Each has a power outlet", required=False)
    exhaust_extraction = forms.BooleanField(label="Each has exhaust extraction", required=False)
    nose_to_tail = forms.BooleanField(
        label="Nose to tail: each is blocked by the place before it",
        required=False,
        help_text="Place 1 is nearest the door.",
    )


class LieForm(PlainForm):
    """Where one bay lies on the floor."""

    from_left_m = MeasureField(name="From the left", stored_as="m", low=0, high=FARTHEST_M, required=True)
    from_door_m = MeasureField(
        name="From the door wall", stored_as="m", low=0, high=FARTHEST_M, required=True
    )
    width_m = MeasureField(name="Width", stored_as="m", low=NARROWEST_M, high=WIDEST_M, required=True)
    depth_m = MeasureField(name="Depth", stored_as="m", low=NARROWEST_M, high=WIDEST_M, required=True)

    def __init__(self, *args: Any, rect: Rect, edge: Edge, **kwargs: Any) -> None:
        known = (rect.left, rect.from_door, rect.width, rect.depth)
        super().__init__(*args, initial=dict(zip(self.base_fields, known, strict=True)), **kwargs)
        for field, value in zip(self.fields.values(), known, strict=True):
            field.use_units(edge, value)  # type: ignore[attr-defined]  # each is a MeasureField

    def rect(self) -> Rect:
        """What was typed."""
        return Rect(*(self.cleaned_data[name] for name in self.fields))


class ClimateForm(VersionForm):
    """The name of a climate and where its figures come from."""

    class Meta(RecordForm.Meta):
        model = Climate
        fields = ("name", "basis")
        labels = {"basis": "Where the figures come from"}  # noqa: RUF012
        help_texts = {"basis": "Such as the station and its years."}  # noqa: RUF012


class MonthForm(RecordForm):
    """One month's normal air outside."""

    min_c = MeasureField(name="Mean daily minimum", stored_as="°C", low=COLDEST_C, high=HOTTEST_C)
    mean_c = MeasureField(name="Mean", stored_as="°C", low=COLDEST_C, high=HOTTEST_C)
    max_c = MeasureField(name="Mean daily maximum", stored_as="°C", low=COLDEST_C, high=HOTTEST_C)

    class Meta(RecordForm.Meta):
        model = ClimateMonth
        fields = ("min_c", "mean_c", "max_c", "humidity_pct")
        labels = {"humidity_pct": "Humidity, %"}  # noqa: RUF012
        widgets = {"humidity_pct": DecimalInput}  # noqa: RUF012

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.required = True
