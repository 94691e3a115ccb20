"""What is known of cars, bays and entries when a table speaks of them."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

from django.db.models import QuerySet

from collection.models import UNMARKED, Bay, Building, Entry, Organisation, SheetWord, Vehicle
from collection.models.care import effective
from collection.spreadsheets.sheets.dictionaries import normal
from collection.spreadsheets.sheets.headings import plate


@dataclass
class Places:
    """Bays by every way in which one may be named."""

    by_name: dict[str, list[Bay]] = field(default_factory=lambda: defaultdict(list))

    def named(self, text: str) -> list[Bay]:
        """The bays that a text may mean."""
        return self.by_name.get(normal(text), [])

    def all(self) -> list[Bay]:
        """Every bay, once."""
        return list({bay.pk: bay for bays in self.by_name.values() for bay in bays}.values())


def places_of(organisation: Organisation) -> Places:
    """Every bay of the organisation: by its label alone, with its building, with its site."""
    places = Places()
    bays = Bay.objects.filter(building__site__organisation=organisation).select_related("building__site")
    for bay in bays:
        house, site = bay.building.name, bay.building.site.name
        spoken = (
            bay.label,
            f"{bay.row} {bay.place}",
            f"{house} {bay.label}",
            f"{bay.label} {house}",
            f"{bay.label} {house} {site}",
            f"{site} {house} {bay.label}",
        )
        for name in {normal(it) for it in (spoken if bay.is_marked else _on_floor(bay))}:
            places.by_name[name].append(bay)
    return places


def _on_floor(bay: Bay) -> tuple[str, ...]:
    """A building alone names its first place on the floor: there is room for one car more."""
    house, site = bay.building.name, bay.building.site.name
    both = (house, f"{house} {site}", f"{site} {house}")
    return (*both, *(f"{bay.label} {it}" for it in both)) if bay.place == 1 else ()


def sole_building(organisation: Organisation) -> dict[str, str]:
    """Where cars stand of which a table says nothing: in the one building without bays that there is."""
    houses = list(Building.objects.filter(site__organisation=organisation)[:2])
    rows = {row for house in houses for row in house.bays.values_list("row", flat=True)}
    return {"place": houses[0].name} if len(houses) == 1 and rows == {UNMARKED} else {}


def likely_doubles(organisation: Organisation) -> dict[str, str]:
    """Marks by which a car in storage here would be known again, and which car bears each."""
    marks: dict[str, str] = {}
    cars = Vehicle.objects.filter(organisation=organisation, left_on__isnull=True).select_related("owner")
    for car in cars:
        for of in ("registration", "chassis_number"):
            if getattr(car, of):
                marks[f"{of} {plate(getattr(car, of))}"] = str(car)
        marks[f"name {car} {car.owner.name}".casefold()] = str(car)
    return marks


def _cars_of(organisation: Organisation) -> QuerySet[Vehicle]:
    """Every car of the organisation, also those that have left; none that was taken back with its table."""
    return Vehicle.objects.filter(organisation=organisation, taken_back_on__isnull=True)


@dataclass
class Garage:
    """Cars by every way in which a row may name one."""

    cars: dict[int, Vehicle] = field(default_factory=dict)
    by_plate: dict[str, list[int]] = field(default_factory=lambda: defaultdict(list))
    by_chassis: dict[str, list[int]] = field(default_factory=lambda: defaultdict(list))
    by_name: dict[str, list[int]] = field(default_factory=lambda: defaultdict(list))


def garage_of(organisation: Organisation) -> Garage:
    """Every car of the organisation, also those that have left."""
    garage = Garage()
    for car in _cars_of(organisation).select_related("bay__building__site").order_by("pk"):
        garage.cars[car.pk] = car
        for text, index in ((car.registration, garage.by_plate), (car.chassis_number, garage.by_chassis)):
            if plate(text):
                index[plate(text)].append(car.pk)
        for name in {normal(str(car)), normal(f"{car.marque} {car.model}"), normal(car.model)}:
            garage.by_name[name].append(car.pk)
    for pk, name in numbered_names(organisation).items():
        if "#" in name:
            garage.by_name[normal(name)] = [pk]
    return garage


def car_names(organisation: Organisation) -> frozenset[str]:
    """What the organisation's cars are called, as ``normal`` has it."""
    cars = _cars_of(organisation)
    return frozenset(name for car in cars for name in (normal(str(car)), normal(f"{car.marque} {car.model}")))


def registrations(organisation: Organisation) -> frozenset[str]:
    """The registrations of the organisation's cars, without blanks."""
    plates = _cars_of(organisation).values_list("registration", flat=True)
    return frozenset(filter(None, map(plate, plates)))


def said_already(cars: Iterable[int]) -> set[tuple[int, str, datetime]]:
    """Car, kind and moment of every standing entry of these cars."""
    standing = effective(Entry.objects.filter(vehicle__in=list(cars)))
    return set(standing.values_list("vehicle_id", "kind", "done_at"))


def words_of(organisation: Organisation, kind: str) -> dict[str, dict[str, str]]:
    """What the organisation's own words mean in such tables, by field."""
    words: dict[str, dict[str, str]] = {}
    for row in SheetWord.objects.filter(organisation=organisation, kind=kind):
        words.setdefault(row.field, {})[row.text] = row.meaning
    return words


def numbered_names(organisation: Organisation) -> dict[int, str]:
    """Each car's name; of several with one name, each with its number among them: Wendlow Twelve #2."""
    cars = list(_cars_of(organisation).order_by("pk"))
    count = Counter(str(car) for car in cars)
    seen: Counter[str] = Counter()
    names = {}
    for car in cars:
        name = str(car)
        seen[name] += 1
        names[car.pk] = f"{name} #{seen[name]}" if count[name] > 1 else name
    return names
