"""The car itself: what it is, where it stands, how it is kept."""

from typing import Any

from django import forms
from django.db.models import QuerySet

from collection.life.core.choices import chassis_warning
from collection.models import Bay, LastUse, Owner, Regime, Site, Vehicle
from collection.web.measures import Groups, MeasureField, PlainForm, RecordForm
from scheduler.vocabulary.machine import BUILD

BUILT = tuple(part.code for part in BUILD)


class BayChoice(forms.ModelChoiceField):  # type: ignore[type-arg]  # cannot be subscripted at run time
    """A bay with its building and site."""

    def label_from_instance(self, obj: Any) -> str:
        """As the barn says it: A3, Long shed."""
        if obj.is_marked:
            return f"{obj.label}, {obj.building.name}, {obj.building.site.name}"
        return f"{obj.building.name}, {obj.building.site.name}: in no bay"


class VehicleForm(RecordForm):
    """Asked in the order of a walk up to the car: where, what, under the bonnet, how it is kept."""

    bay = BayChoice(
        queryset=Bay.objects.none(),
        required=False,
        empty_label="Not known where",
        help_text="Free bays only. If it moves now, log the move; else say below since when it stands there.",
    )
    tank_litres = MeasureField(name="Tank holds", stored_as="litres", low=1, high=1000)

    class Meta(RecordForm.Meta):
        model = Vehicle
        fields = (
            "owner",
            "marque",
            "model",
            "year",
            "body",
            "registration",
            "chassis_number",
            "bay",
            "stored_since",
            "left_on",
            "regime",
            "engine",
            "fuel_system",
            "system_volts",
            "tank_litres",
            "tank_material",
            "tank_venting",
            *BUILT,
            "notes",
        )
        help_texts = {  # noqa: RUF012 - read by Django only
            "chassis_number": "As stamped; before 1981 any form is right.",
            "left_on": "Leave empty while the car is here.",
            "earth": "Older cars often have the positive pole to the body: chargers and leads go round.",
            "tank_venting": "How freely the tank breathes decides how fast its lighter parts evaporate.",
        }
        labels = {  # noqa: RUF012
            "marque": "Make",
            "model": "Model",
            "system_volts": "Electrical system",
            "year": "Year of make",
        }

    GROUPS: Groups = (
        ("Whose and what", ("owner", "marque", "model", "year", "body", "registration", "chassis_number")),
        ("Where it stands", ("bay", "stored_since", "left_on")),
        ("How it is kept", ("regime",)),
        ("Engine and electrics", ("engine", "fuel_system", "system_volts")),
        ("Tank", ("tank_litres", "tank_material", "tank_venting")),
        ("What it is built with", BUILT),
        ("Notes", ("notes",)),
    )

    def __init__(self, *args: Any, owners: "QuerySet[Owner]", bays: "QuerySet[Bay]", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["owner"].queryset = owners  # type: ignore[attr-defined]  # a ModelChoiceField
        if owners.count() > MOST_CHOICES:  # found by name; one chosen elsewhere stays chosen
            self.fields["owner"].widget = forms.HiddenInput()
        self.fields["owner"].empty_label = "Choose the owner"  # type: ignore[attr-defined]  # as above
        self.fields["bay"].queryset = bays  # type: ignore[attr-defined]  # a ModelChoiceField
        if self.instance.assumed:
            names = sorted(self.instance.assumed_fields)
            for name in names:
                self.fields[name].help_text = "Assumed: usual for its kind of car."
            titles = " and ".join(str(self.fields[name].label).lower() for name in names)
            self.fields["looked"] = forms.BooleanField(
                label="I looked: what is assumed here is right", required=False, help_text=f"The {titles}."
            )
        for name in ("registration", "chassis_number"):
            self.fields[name].widget.attrs |= {"autocapitalize": "characters", "autocomplete": "off"}

    def clean(self) -> dict[str, Any]:
        """What somebody looked at is assumed no longer."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        if cleaned.get("looked"):
            self.instance.assumed = ""
        return cleaned

    def groups(self) -> Groups:
        """The headings, with the question about what is assumed where anything is."""
        asked = (("Assumed so far", ("looked",)),) if "looked" in self.fields else ()
        return (*self.GROUPS, *asked)

    def doubt(self) -> str:
        """What looks wrong with the chassis number and is kept all the same."""
        return chassis_warning(self.instance.chassis_number, self.instance.year)


class LastUseForm(RecordForm):
    """When one of the five events last happened."""

    class Meta(RecordForm.Meta):
        model = LastUse
        fields = ("on", "basis")
        labels = {"on": "Last on"}  # noqa: RUF012

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["on"].required = self.fields["basis"].required = False


MOST_CHOICES = 100  # of a list; more are asked for by name


class CarsFilter(PlainForm):
    """Which cars to list."""

    text = forms.CharField(
        label="Find", required=False, max_length=60, widget=forms.TextInput({"type": "search"})
    )
    site = forms.ModelChoiceField(Site.objects.none(), required=False, empty_label="Every site")
    owner = forms.ModelChoiceField(Owner.objects.none(), required=False, empty_label="Every owner")
    regime = forms.ChoiceField(
        label="Care regime",
        required=False,
        choices=[("", "Every regime"), *((it.value, it.label.split(":")[0]) for it in Regime)],
    )
    left = forms.BooleanField(label="Also cars that have left", required=False)

    def __init__(self, *args: Any, sites: "QuerySet[Site]", owners: "QuerySet[Owner]", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["site"].queryset = sites  # type: ignore[attr-defined]  # a ModelChoiceField
        self.fields["owner"].queryset = owners  # type: ignore[attr-defined]  # a ModelChoiceField

    def wanted(self) -> dict[str, Any]:
        """The filters that hold, for ``queries.vehicles.cars_listed``; nonsense filters nothing."""
        self.is_valid()
        chosen = self.cleaned_data
        keys = {name: getattr(chosen.get(name), "pk", None) for name in ("site", "owner")}
        words = {name: chosen.get(name, "") for name in ("text", "regime")}
        return {**keys, **words, "left": chosen.get("left", False)}
