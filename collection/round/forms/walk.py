"""A row of bays walked at once: what was done at all cars, and at each what is not as it should be."""

from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.datastructures import MultiValueDict

from collection.care.attachments_apart import clean_apart
from collection.care.checks import limit_of
from collection.care.core.meter import Meter, as_typed, bands_of
from collection.care.draft import Measured
from collection.care.findings import FINDINGS
from collection.care.forms.fields import FilesField
from collection.care.forms.words import OTHER, REASONS
from collection.care.queries.care import LastValues
from collection.care.rules import LIMITS
from collection.host.refusal import Refused
from collection.models import Vehicle
from collection.round.actions.walk import Line, Work
from collection.web.measures import MeasureField, PlainForm
from collection.web.templatetags.longstand import day
from collection.web.units import Edge
from scheduler.vocabulary.quantities import QUANTITY

VOLTS = QUANTITY["rested_volts"]


class LineForm(PlainForm):
    """What is out of the ordinary at one car; left empty, what is said of all holds for it."""

    without = forms.ChoiceField(required=False, choices=[("", "–"), *((r, r) for r in REASONS if r != OTHER)])
    found = forms.MultipleChoiceField(
        label="Found",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        choices=[(f.label, f"▲ {f.label}" if f.is_danger else f.label) for f in FINDINGS],
    )
    words = forms.CharField(label="Where, in your words", required=False, max_length=60)
    danger = forms.BooleanField(label="Danger: put a warning tag on, no start and no move", required=False)
    rested_volts = MeasureField(
        name="Rested volts",
        stored_as=LIMITS[VOLTS.code].unit,
        low=LIMITS[VOLTS.code].low,
        high=LIMITS[VOLTS.code].high,
        quantity=VOLTS.code,
        widget=forms.NumberInput,
    )
    photographs = FilesField()

    def __init__(
        self,
        data: QueryDict | None,
        files: "MultiValueDict[str, Any] | None",
        *,
        car: Vehicle,
        work: Work,
        edge: Edge,
        last: LastValues | None = None,
        meter: Meter | None = None,
    ) -> None:
        super().__init__(data, files, prefix=str(car.pk))
        self.car, self.work = car, work
        self.fields["without"].label = work.left_out
        self.fields["photographs"].label = "Photographs"
        self.fields["photographs"].help_text = ""
        volts: Any = self.fields["rested_volts"]
        volts.high = limit_of(VOLTS.code, car.system_volts_known).high
        volts.use_units(edge)
        volts.widget.attrs |= {"step": "any", "min": volts.low, "max": volts.high}
        if bands := bands_of(meter or {}, VOLTS.code, ""):
            volts.widget.attrs["data-bands"] = as_typed(bands, volts.unit)
        if known := (last or LastValues()).readings.get((VOLTS.code, "")):
            volts.last = f"{volts.unit.format(known.value)} on {day(known.on)}"

    def clean(self) -> dict[str, Any]:
        """What is on no list needs words; each photograph is cleaned."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        if FINDINGS[-1].label in cleaned.get("found", ()) and not cleaned.get("words"):
            self.add_error("words", "Say in a few words what it is.")
        if (cleaned.get("words") or cleaned.get("danger")) and not cleaned.get("found"):
            cleaned["found"] = [FINDINGS[-1].label]
            if not cleaned.get("words"):
                self.add_error("words", "Say in a few words what the danger is.")
        sent = cleaned.get("photographs") or []
        try:
            cleaned["photographs"] = clean_apart([(f.name, f.read()) for f in sent], keep_place=False)
        except Refused as error:
            self.add_error("photographs", str(error))
        return cleaned

    def line(self) -> Line:
        """What a good form says."""
        typed = self.cleaned_data
        volts = typed["rested_volts"]
        return Line(
            car=self.car,
            without=typed["without"],
            found=tuple(typed["found"]),
            words=typed["words"],
            danger=typed["danger"],
            readings=() if volts is None else (Measured(VOLTS.code, volts),),
            photographs=tuple(typed["photographs"]),
        )

    def faults(self) -> str:
        """All that is wrong, in one line."""
        labels = {name: f"{field.label}: " for name, field in self.fields.items()}
        return " ".join(
            labels.get(name, "") + " ".join(map(str, texts)) for name, texts in self.errors.items()
        )
