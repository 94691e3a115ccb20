"""The few questions with which a collection begins."""

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet

from collection.cars.actions.start import FirstFacts
from collection.cars.pasted import is_iso, read_day
from collection.models import Building, Climate, Organisation, Owner, Regime, Site, Vehicle
from collection.web.measures import DayInput, PlainForm, WholeInput
from scheduler.vocabulary.buildings import BUILDING_KIND, BUILDING_KINDS, HEATED
from scheduler.vocabulary.car_kinds import CAR_KINDS

MINE, THEIRS = "mine", "theirs"
# One zone of each clock, from west to east, where the browser does not say its own.
ZONES = (
    "America/Los_Angeles",
    "America/Denver",
    "America/Chicago",
    "America/New_York",
    "America/Sao_Paulo",
    "UTC",
    "Europe/London",
    "Europe/Paris",
    "Europe/Athens",
    "Asia/Dubai",
    "Asia/Kolkata",
    "Asia/Singapore",
    "Asia/Tokyo",
    "Australia/Sydney",
    "Pacific/Auckland",
)
# of a line in which anything is written
ASKED = {"marque": "Say the make.", "model": "Say the model, or “unknown”.", "owner": "Say whose it is."}
ALSO_UTC = ("Etc/UTC", "Etc/GMT", "GMT")  # as browsers may call it


class PlaceForm(PlainForm):
    """Where the cars stand, and whose they are."""

    name = forms.CharField(label="Place", max_length=80, help_text="The town or village.")
    climate = forms.ModelChoiceField(
        Climate.objects.none(), label="Its climate", empty_label="Choose the nearest to it"
    )
    kind = forms.ChoiceField(
        label="The cars stand in", choices=[(row.code, row.title) for row in BUILDING_KINDS]
    )
    heated = forms.BooleanField(label="It is heated", required=False)
    whose = forms.ChoiceField(
        label="Whose cars",
        choices=[(MINE, "My own"), (THEIRS, "Of several owners")],
        widget=forms.RadioSelect,
        initial=MINE,
    )
    time_zone = forms.CharField(
        label="Time zone",
        max_length=60,
        widget=forms.Select(choices=[(zone, zone.replace("_", " ")) for zone in ZONES]),
        help_text="Your clock, or the nearest; any other can be set under Places.",
    )

    def __init__(self, *args: Any, climates: "QuerySet[Climate]", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["climate"].queryset = climates  # type: ignore[attr-defined]  # a ModelChoiceField

    def clean_time_zone(self) -> str:
        """One name for one clock; the action says whether it is known."""
        zone = str(self.cleaned_data["time_zone"])
        return "UTC" if zone in ALSO_UTC else zone

    def clean(self) -> dict[str, Any]:
        """Nothing without walls is heated."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        kind = BUILDING_KIND.get(cleaned.get("kind", ""))
        if kind and cleaned.get("heated") and not kind.may_heat:
            self.add_error("heated", f"{kind.title} cannot be heated: leave this empty.")
        return cleaned

    def place(self, organisation: Organisation) -> Building:
        """The building on its site, as answered; neither is stored."""
        answers = self.cleaned_data
        site = Site(
            organisation=organisation,
            name=answers["name"],
            climate=answers["climate"],
            time_zone=answers["time_zone"],
        )
        kind = BUILDING_KIND[answers["kind"]]
        shelter = HEATED if answers["heated"] else kind.shelter
        return Building(site=site, name=kind.title, shelter=shelter)


class WhereForm(PlainForm):
    """What all cars of the page have in common."""

    building = forms.ModelChoiceField(Building.objects.none(), label="They stand in", empty_label=None)
    regime = forms.ChoiceField(label="They are", choices=[(row.value, row.label) for row in Regime])

    def __init__(self, *args: Any, buildings: "QuerySet[Building]", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["building"].queryset = buildings  # type: ignore[attr-defined]  # a ModelChoiceField
        self.fields["building"].initial = buildings.first()


class WrittenDayInput(DayInput):
    """The phone's own calendar, unless something stands in it that no calendar can show."""

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        """As text where it is no day yet."""
        context: dict[str, Any] = super().get_context(name, value, attrs)
        written = context["widget"]["value"]
        if written and not is_iso(written):
            context["widget"]["type"] = "text"
        return context


class WrittenDay(forms.DateField):
    """A day as somebody wrote or pasted it; one that reads both ways is asked for."""

    widget = WrittenDayInput

    def to_python(self, value: Any) -> date | None:
        """The day."""
        if value in self.empty_values or isinstance(value, date):
            return value or None
        try:
            return read_day(str(value).strip())
        except ValueError as fault:
            raise ValidationError(str(fault)) from fault


class CarRow(PlainForm):
    """One car as a line; a line in which nothing is written is none."""

    marque = forms.CharField(label="Make", required=False, max_length=60)
    model = forms.CharField(label="Model", required=False, max_length=60)
    year = forms.IntegerField(label="Year", required=False, widget=WholeInput, min_value=1885, max_value=2100)
    owner = forms.CharField(
        label="Owner", required=False, max_length=120, widget=forms.TextInput({"list": "owners"})
    )
    driven_on = WrittenDay(label="Last driven", required=False)
    kind = forms.ChoiceField(label="Kind of car", required=False)

    def __init__(self, *args: Any, several: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kinds = [("", "That of its year"), *((row.code, row.title) for row in CAR_KINDS)]
        self.fields["kind"].choices = kinds  # type: ignore[attr-defined]  # a ChoiceField
        if not several:
            del self.fields["owner"]
        for field in self.fields.values():
            field.widget.attrs["autocomplete"] = "off"
        self.fields["marque"].widget.attrs["placeholder"] = (
            " "  # a phone shows the next line once this is filled
        )

    @property
    def is_empty(self) -> bool:
        """Whether nothing is written in it."""
        return not any(str(self.data.get(self.add_prefix(name), "")).strip() for name in self.fields)

    def clean(self) -> dict[str, Any]:
        """A car has a make, a model and an owner."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        if self.is_empty:
            return cleaned
        for name in ASKED.keys() & self.fields.keys():
            if not cleaned.get(name) and name not in self.errors:
                self.add_error(name, ASKED[name])
        return cleaned

    def facts(self, vehicle: Vehicle) -> FirstFacts:
        """The car as written, in a row that the action fills."""
        written = self.cleaned_data
        vehicle.marque, vehicle.model, vehicle.year = written["marque"], written["model"], written["year"]
        return FirstFacts(
            prefix=self.prefix or "",
            vehicle=vehicle,
            kind=written["kind"],
            owner=written.get("owner", ""),
            driven_on=written["driven_on"],
        )


def sole_owner(owners: "QuerySet[Owner]") -> Owner | None:
    """Whose every car is, where only one owner is written down."""
    first = list(owners[:2])
    return first[0] if len(first) == 1 else None
