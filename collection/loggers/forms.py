"""A logger's file to be sent, how it is to be read, and what of it is to be logged."""

from collections.abc import Sequence
from typing import Any

from django import forms

from collection.host.zones import is_place
from collection.loggers.actions.entries import CHARGES, FALLS, PARTS, READINGS
from collection.loggers.reading.layout import (
    DECIMALS,
    DUPLICATES,
    NONE,
    ORDERS,
    UNITS,
    VOLT_UNITS,
    ZONES,
    Layout,
    changed,
)
from collection.loggers.reading.lines import MOST_BYTES
from collection.web.measures import PlainForm

OFFSETS = [f"{sign}{hour:02}:{part}" for sign in "-+" for hour in range(15) for part in ("00", "30", "45")]
# One place of each clock that is put on in summer; any other that a file names is offered too.
PLACES = (
    "Europe/London",
    "Europe/Paris",
    "Europe/Athens",
    "America/New_York",
    "America/Chicago",
    "America/Denver",
    "America/Los_Angeles",
    "America/Santiago",
    "Australia/Sydney",
    "Pacific/Auckland",
)
NO_OFFSET = ("-00:00", "+00:00")  # that is UTC


class SendForm(PlainForm):
    """One file, as the logger or its programme wrote it."""

    file = forms.FileField(
        label="The logger's file",
        help_text=f"CSV or text, up to {MOST_BYTES // 1_000_000} MB: years at every minute are welcome.",
    )
    instrument = forms.CharField(
        label="Logger",
        required=False,
        max_length=60,
        help_text="Its make or the number on it, so that a reader can tell which one it was.",
    )

    def clean_file(self) -> Any:
        """Not too large to be read."""
        file = self.cleaned_data["file"]
        if file.size > MOST_BYTES:
            raise forms.ValidationError(
                f"The file has {file.size / 1e6:.0f} MB, more than {MOST_BYTES // 1_000_000}: "
                "send it in parts."
            )
        return file


class LayoutForm(PlainForm):
    """How the file is read; the guess stands in it."""

    order = forms.ChoiceField(label="Dates are written")
    zone = forms.ChoiceField(label="Its clock shows", help_text="Summer time makes an hour of difference.")
    temperature = forms.TypedChoiceField(label="Temperature", coerce=int)
    unit = forms.ChoiceField(label="Temperatures are in", choices=UNITS.items())
    humidity = forms.TypedChoiceField(label="Humidity", coerce=int)
    dew_point = forms.TypedChoiceField(
        label="Dew point", coerce=int, help_text="Used for the humidity where there is no column of it."
    )
    volts = forms.TypedChoiceField(label="Volts", coerce=int)
    volt_unit = forms.ChoiceField(label="Volts are in", choices=VOLT_UNITS.items())
    decimal = forms.ChoiceField(label="Decimals are written with", choices=DECIMALS.items())
    duplicates = forms.ChoiceField(
        label="Of a moment that is told twice with other figures", choices=DUPLICATES.items()
    )

    def __init__(
        self, *args: Any, layout: Layout, columns: Sequence[dict[str, Any]], of_battery: bool, **kwargs: Any
    ) -> None:
        super().__init__(*args, initial=layout.as_json(), **kwargs)
        self.layout = layout
        for name in ("humidity", "dew_point") if of_battery else ("volts", "volt_unit"):
            del self.fields[name]
        needed = "volts" if of_battery else "temperature"
        for name in ("temperature", "humidity", "dew_point", "volts"):
            if name in self.fields:
                self.fields[name].choices = _choices(columns, must=name == needed)  # type: ignore[attr-defined]
        self.fields["order"].choices = _orders(layout)  # type: ignore[attr-defined]
        self.fields["zone"].choices = _zones(layout)  # type: ignore[attr-defined]
        if layout.undecided:
            self.fields["order"].help_text = "Both fit all dates of the file: look at one of them and choose."

    def clean(self) -> dict[str, Any]:
        """No column is two things at once."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        taken: dict[int, str] = {}
        for name in ("temperature", "humidity", "dew_point", "volts"):
            column = cleaned.get(name, NONE)
            if column != NONE and column in taken:
                self.add_error(name, f"That column is taken for {taken[column].lower()}: choose another.")
            taken[column] = str(self.fields[name].label) if name in self.fields else ""
        return cleaned

    def chosen(self) -> Layout:
        """The layout as it was chosen."""
        return changed(self.layout, **self.cleaned_data)


def _choices(columns: Sequence[dict[str, Any]], *, must: bool) -> list[tuple[int, str]]:
    named = [(c["index"], f"{c['name']} (first: {c['sample']})") for c in columns]
    return named if must else [(NONE, "No such column"), *named]


def _orders(layout: Layout) -> list[tuple[str, str]]:
    """Numbers of a calendar date may stand in three orders; anything else is what it is."""
    fitting = ("ymd", "dmy", "mdy") if layout.order in ("ymd", "dmy", "mdy") else (layout.order,)
    return [(name, ORDERS[name]) for name in fitting]


def _zones(layout: Layout) -> list[tuple[str, str]]:
    named = {name: words for name, words in ZONES.items() if name != "stamp" or layout.zone == "stamp"}
    offsets = {offset: f"UTC{offset}, all year" for offset in OFFSETS if offset not in NO_OFFSET}
    places = {zone: f"{zone.replace('_', ' ')}, with its summer time" for zone in PLACES}
    zone = layout.zone
    here = {} if zone in named | places else {zone: zone if is_place(zone) else f"UTC{zone}, all year"}
    return [*(named | here | places | offsets).items()]


class PartsForm(PlainForm):
    """What of a battery's file is logged."""

    parts = forms.MultipleChoiceField(
        label="Log",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick what is to be logged."},
    )

    def __init__(self, *args: Any, counts: dict[str, int], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        words = {
            READINGS: "Rested readings",
            CHARGES: "Charges and maintainer",
            FALLS: "Sudden falls, as notes",
        }
        offered = [part for part in PARTS if counts[part]]
        self.fields["parts"].choices = [(p, f"{words[p]}: {counts[p]}") for p in offered]  # type: ignore[attr-defined]
        self.fields["parts"].initial = offered
