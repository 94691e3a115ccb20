"""A new sensor: what it is called and where it stands."""

from typing import Any

from django import forms

from collection.models import Building, Sensor, Site, Vehicle
from collection.permissions import Access
from collection.web.measures import PlainForm

Place = Site | Building | Vehicle


class SensorForm(PlainForm):
    """Its name, and one of the places in the person's reach."""

    name = forms.CharField(label="What it is called", max_length=Sensor._meta.get_field("name").max_length)
    place = forms.ChoiceField(label="Where it stands")

    def __init__(self, *args: Any, access: Access, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        buildings = access.buildings().select_related("site").order_by("site__name", "name")
        cars = access.vehicles().filter(left_on=None).order_by("marque", "model", "pk")
        rows: list[Place] = [*buildings, *access.sites().order_by("name"), *cars]
        self.places = {f"{type(row).__name__.lower()}-{row.pk}": row for row in rows}
        groups: dict[str, list[tuple[str, str]]] = {"In a building": [], "Outdoors": [], "On a car": []}
        heads = dict(zip((Building, Site, Vehicle), groups, strict=True))
        for key, row in self.places.items():
            groups[heads[type(row)]].append((key, str(row)))
        choices = [("", "Choose"), *((head, named) for head, named in groups.items() if named)]
        self.fields["place"].choices = choices  # type: ignore[attr-defined]

    def chosen(self) -> Place:
        """Where it stands."""
        return self.places[self.cleaned_data["place"]]
