"""The parts of a car's record: a page each, in the order a person meets them at the car."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.http import QueryDict

from collection.care.actions.record import Edit
from collection.care.queries.care import free_bays
from collection.cars import queries as vehicles
from collection.cars.actions.batteries import fit_battery, save_battery
from collection.cars.actions.fluids import save_fluids
from collection.cars.actions.fuel import save_fuel
from collection.cars.actions.tyres import save_tyres
from collection.cars.actions.vehicles import save_last_uses, save_vehicle
from collection.cars.forms.batteries import BatteryForm, NewBatteryForm
from collection.cars.forms.fluids import FluidForm
from collection.cars.forms.fuel import FuelForm
from collection.cars.forms.tyres import StandsForm, TyreForm
from collection.cars.forms.vehicles import LastUseForm, VehicleForm
from collection.models import Battery, Vehicle
from collection.permissions import Access
from collection.web.measures import RecordForm
from collection.web.units import edge

Data = QueryDict | None
Group = tuple[str, list[Any]]


@dataclass(frozen=True)
class Part:
    """One page of a car's record: its forms, how they are grouped on the page, how they are saved."""

    title: str
    forms: Callable[[Access, Vehicle, Data], list[RecordForm]]
    save: Callable[[Vehicle, Sequence[RecordForm], Edit, date], object]
    hint: str = ""


def groups(forms: Sequence[RecordForm]) -> list[Group]:
    """Fields under their headings: a form with ``GROUPS`` has several, another is a group of its own."""
    shown: list[Group] = []
    for form in forms:
        if isinstance(form, VehicleForm | BatteryForm | FuelForm):
            groups_of = form.groups() if isinstance(form, VehicleForm) else form.GROUPS
            shown += [(title, [form[name] for name in names]) for title, names in groups_of]
        else:
            shown.append((heading(form), list(form)))
    return shown


def heading(form: RecordForm) -> str:
    """Which of several like rows a form asks for."""
    row = form.instance
    for name in ("kind", "position", "event"):
        if hasattr(row, name):
            return str(getattr(row, f"get_{name}_display")())
    return "How it stands"


def car_forms(access: Access, vehicle: Vehicle, data: Data) -> list[RecordForm]:
    """What the car is and where it stands."""
    owners, bays = access.owners(), free_bays(access.bays(), vehicle)
    units = edge(access.person.units)
    return [VehicleForm(data, instance=vehicle, edge=units, owners=owners, bays=bays)]


def _battery_forms(access: Access, vehicle: Vehicle, data: Data) -> list[RecordForm]:
    return [BatteryForm(data, instance=vehicles.battery_of(vehicle), edge=edge(access.person.units))]


def _new_battery_forms(access: Access, vehicle: Vehicle, data: Data) -> list[RecordForm]:
    return [NewBatteryForm(data, instance=Battery(vehicle=vehicle), edge=edge(access.person.units))]


def _fuel_forms(access: Access, vehicle: Vehicle, data: Data) -> list[RecordForm]:
    return [FuelForm(data, instance=vehicles.fuel_of(vehicle), edge=edge(access.person.units))]


def _fluid_forms(access: Access, vehicle: Vehicle, data: Data) -> list[RecordForm]:
    units = edge(access.person.units)
    return [FluidForm(data, instance=row, prefix=row.kind, edge=units) for row in vehicles.fluids_of(vehicle)]


def _tyre_forms(access: Access, vehicle: Vehicle, data: Data) -> list[RecordForm]:
    units = edge(access.person.units)
    rows = vehicles.tyres_of(vehicle)
    tyres = [TyreForm(data, instance=row, prefix=row.position, edge=units) for row in rows]
    return [StandsForm(data, instance=vehicle, edge=units), *tyres]


def _last_forms(access: Access, vehicle: Vehicle, data: Data) -> list[RecordForm]:
    units = edge(access.person.units)
    rows = vehicles.last_uses_of(vehicle)
    return [LastUseForm(data, instance=row, prefix=row.event, edge=units) for row in rows]


def _rows(forms: Sequence[RecordForm]) -> list[Any]:
    return [form.instance for form in forms]


PARTS = {
    "car": Part(
        "The car",
        car_forms,
        lambda _car, forms, edit, today: save_vehicle(vehicle=forms[0].instance, edit=edit, today=today),
    ),
    "battery": Part(
        "Battery",
        _battery_forms,
        lambda _car, forms, edit, today: save_battery(battery=forms[0].instance, edit=edit, today=today),
    ),
    "fuel": Part(
        "Fuel",
        _fuel_forms,
        lambda _car, forms, edit, today: save_fuel(fuel=forms[0].instance, edit=edit, today=today),
    ),
    "fluids": Part(
        "Fluids",
        _fluid_forms,
        lambda car, forms, edit, today: save_fluids(vehicle=car, fluids=_rows(forms), edit=edit, today=today),
        "Leave empty what nobody knows: an assumption is then made and named.",
    ),
    "tyres": Part(
        "Tyres",
        _tyre_forms,
        lambda car, forms, edit, today: save_tyres(
            vehicle=car, tyres=_rows(forms[1:]), edit=edit, today=today
        ),
        "Walk round the car from the front left wheel. The date code is the last four figures after DOT, "
        "week then year (2319); tyres from before 2000 have three.",
    ),
    "last": Part(
        "Last used",
        _last_forms,
        lambda car, forms, edit, today: save_last_uses(
            vehicle=car, uses=_rows(forms), edit=edit, today=today
        ),
        "Before our own log began. A start is not a warm run: full-warm means oil and coolant hot, "
        "under load. Attended means that somebody looked after the car.",
    ),
}
NEW_BATTERY = Part(
    "Fit a new battery",
    _new_battery_forms,
    lambda _car, forms, edit, today: fit_battery(battery=forms[0].instance, edit=edit, today=today),
    "The battery recorded so far is taken out of the record on the day this one was installed.",
)
EVERY_PART = PARTS | {"new-battery": NEW_BATTERY}


def part_after(name: str) -> str | None:
    """The part that follows on a walk through the whole record."""
    names = list(PARTS)
    here = names.index(name) if name in names else names.index("battery")
    return names[here + 1] if here + 1 < len(names) else None
