"""What all care forms share: when, the note, the key that stores it once, last values, prefilling."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from typing import Any, ClassVar, TypeGuard
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.functional import SimpleLazyObject

from collection.care.attachments_apart import clean_apart
from collection.care.checks import limit_of
from collection.care.core.meter import Band, Meter, answer, as_typed, bands_of
from collection.care.draft import Measured
from collection.care.forms.fields import FilesField, fields_of
from collection.care.queries.care import LastValues
from collection.care.rules import DETAILS
from collection.host.refusal import Refused
from collection.models import Bay, Entry, Vehicle
from collection.web.measures import MeasureField
from collection.web.templatetags.longstand import day
from collection.web.units import Edge
from scheduler.vocabulary.care import KIND
from scheduler.vocabulary.quantities import QUANTITY

COMMON = ("done_at", "note", "attachments", "keep_place", "key")  # of every form, after what is its own
USUAL_VOLTS = 12  # of a car of which nobody knows it
ALONG = ("temperature_c", "rest_hours")  # measured along with a reading, kept on its row


@dataclass(frozen=True)
class AtTheCar:
    """What a form needs to know of the car in front of the person."""

    vehicle: Vehicle
    edge: Edge
    now: datetime
    last: LastValues = field(default_factory=LastValues)
    bays: Sequence[Bay] = ()  # free ones, for a move
    tags: Sequence[Entry] = ()  # those that hang now
    duty: str = ""  # the work that led here
    short: bool = False  # on the week page: the few fields that the round asks for
    entry: Entry | None = None  # the one to be corrected
    meter: Meter = field(default_factory=dict)  # what readings of it mean


def done_at_field() -> forms.DateTimeField:
    """When it was done, on the phone's own calendar and clock; in the zone of the page."""
    widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")
    return forms.DateTimeField(label="When", widget=widget, required=False, help_text="Empty means just now.")


class CareForm(forms.Form):
    """Base of the forms: a field is named as the detail or the reading that it becomes."""

    kind: ClassVar[str]
    own: ClassVar[tuple[str, ...]] = ()  # its fields in their order, where they are not those of the row
    says: ClassVar[str] = ""  # on the button, where it is not the row's
    few: ClassVar[tuple[str, ...]] = ()  # the fields of the short form, where they are not the row's

    done_at = done_at_field()
    note = forms.CharField(
        required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2}), label="Note"
    )
    attachments = FilesField()
    keep_place = forms.BooleanField(
        label="Keep the place that the camera wrote down",
        required=False,
        help_text="Otherwise it is taken out of each photograph.",
    )
    key = forms.CharField(widget=forms.HiddenInput, max_length=64, min_length=8)

    def __init__(self, data: Any = None, files: Any = None, *, car: AtTheCar, **kwargs: Any) -> None:
        super().__init__(data, files, use_required_attribute=not car.short, label_suffix="", **kwargs)
        self.car, self.row = car, KIND[self.kind]
        self.verb, self.hint = self.says or self.row.verb, self.row.hint
        self.initial.setdefault("key", str(uuid4()))
        self._take_fields()
        self.fit()
        if car.short:
            for name in self.fields.keys() - {*(self.few or self.row.few), "done_at", "key"}:
                del self.fields[name]
        elif car.entry is None:
            self.initial.setdefault("done_at", timezone.localtime(car.now).replace(second=0, microsecond=0))
        if car.entry is not None:
            self.initial.update(self.filled_from(car.entry))
        self._use_units()

    def _take_fields(self) -> None:
        """The row's fields beside those declared; declared ones stand where the row has their name."""
        made = fields_of(self.kind)
        names = self.own or tuple(made)
        for name in names:
            if name not in self.fields:
                self.fields[name] = made[name]
        self._leave_out_positions()
        self.order_fields([*names, *COMMON])

    def _leave_out_positions(self) -> None:
        """A 6 V battery has three cells."""
        for name, field_ in list(self.fields.items()):
            if not _is_reading(field_) or not field_.position:
                continue
            row = QUANTITY[field_.quantity]
            if row.positions_a_volt:
                codes = [position.code for position in row.positions]
                volts = self.car.vehicle.system_volts_known or USUAL_VOLTS
                if field_.position not in codes[: int(volts * row.positions_a_volt)]:
                    del self.fields[name]

    def fit(self) -> None:
        """Fit choices and first values to the car; forms override it."""

    def _use_units(self) -> None:
        for name, field_ in self.fields.items():
            if not isinstance(field_, MeasureField):
                continue
            if _is_reading(field_):
                field_.high = limit_of(field_.quantity, self.car.vehicle.system_volts_known).high
            elif name == "litres" and self.car.vehicle.tank_litres:
                field_.high = self.car.vehicle.tank_litres
            field_.use_units(self.car.edge, self.initial.get(name))
            if of := bands_of(self.car.meter, field_.quantity, field_.position):
                field_.widget.attrs["data-bands"] = as_typed(of, field_.unit)
            last = partial(self._last, name, field_)  # asked for when shown: not on the way to the log
            field_.last = SimpleLazyObject(last)  # type: ignore[attr-defined]  # by parts/field.html

    def _last(self, name: str, field_: MeasureField) -> str:
        reading = self.car.last.readings.get((field_.quantity, field_.position))
        if reading:
            return f"{field_.unit.format(reading.value)} on {day(reading.on)}"
        entry = self.car.last.entries.get(self.kind)
        value = entry.details.get(name) if entry else None
        return f"{field_.unit.format(value)} on {day(entry.done_at)}" if entry and value is not None else ""

    def filled_from(self, entry: Entry) -> dict[str, Any]:
        """First values that repeat an entry, in SI."""
        values: dict[str, Any] = dict(entry.details)
        for row in entry.readings.all():
            values[f"{row.quantity}_{row.position}" if row.position else row.quantity] = row.value
            values |= {name: getattr(row, name) for name in ALONG if getattr(row, name) is not None}
        return values | {"done_at": timezone.localtime(entry.done_at), "note": entry.note}

    def details(self) -> dict[str, Any]:
        """The cleaned details, in SI, without what was left empty."""
        given = {key: self.cleaned_data.get(key) for key in DETAILS[self.kind]}
        return {key: value for key, value in given.items() if value is not None and value not in ("", [])}

    def clean(self) -> dict[str, Any]:
        """Each file cleaned, with or without its place."""
        cleaned_data: dict[str, Any] = super().clean() or self.cleaned_data
        sent = cleaned_data.get("attachments") or []
        try:
            files = clean_apart(
                [(f.name, f.read()) for f in sent], keep_place=bool(cleaned_data.get("keep_place"))
            )
        except Refused as error:
            self.add_error("attachments", str(error))
            files = []
        return cleaned_data | {"attachments": files}

    def readings(self) -> list[Measured]:
        """The cleaned readings, in SI."""
        along = {name: self.cleaned_data.get(name) for name in ALONG}
        return [
            Measured(field_.quantity, value, field_.position, **along)
            for name, field_ in self.fields.items()
            if isinstance(field_, MeasureField)
            and field_.quantity
            and (value := self.cleaned_data.get(name)) is not None
        ]

    def answers(self) -> list[tuple[str, Band]]:
        """What each reading means, by the label of its field."""
        answers = []
        for name, field_ in self.fields.items():
            if not isinstance(field_, MeasureField) or (value := self.cleaned_data.get(name)) is None:
                continue
            if of := bands_of(self.car.meter, field_.quantity, field_.position):
                answers.append((str(field_.label), answer(of, value)))
        return answers

    @property
    def blanks(self) -> list[tuple[str, bool]]:
        """What a worksheet leaves room for: label, and whether it is a box to tick."""
        return [
            (str(field_.label or name.capitalize()), isinstance(field_, forms.BooleanField))
            for name, field_ in self.fields.items()
            if name not in (*COMMON, *self.row.off_paper) or name == "note"
        ]

    def ask_for_files_again(self) -> None:
        """A browser forgets chosen files when the page comes back: say so instead of losing them."""
        if self.files and not self.errors.get("attachments"):
            self.add_error("attachments", "Choose the files again: the browser does not keep them.")

    def take_faults(self, error: ValidationError) -> None:
        """Show what the log refused beside the fields that it names."""
        for name, texts in error.message_dict.items():
            name = self.field_of(name)
            for text in texts:
                self.add_error(name if name in self.fields else None, text)

    def field_of(self, name: str) -> str:
        """The field that shows a fault of this name; a missing reading is shown at the first of them."""
        if name == "readings":
            return next((name for name, field_ in self.fields.items() if _is_reading(field_)), name)
        return "key" if name == "idempotency_key" else name


def _is_reading(field_: forms.Field) -> TypeGuard[MeasureField]:
    return isinstance(field_, MeasureField) and bool(field_.quantity)
