"""Writing down a car: what it is, where it stands, when it was last used."""

from collections.abc import Sequence
from datetime import date
from math import inf

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.care.actions.floor import free_place
from collection.care.actions.record import Edit, recorded
from collection.cars.actions.rules import follow_kinds
from collection.life.refresh import refresh_vehicles
from collection.models import Fuel, LastEvent, LastUse, Vehicle
from collection.web.faults import Faults, before, check, check_rows, in_future


@transaction.atomic
def save_vehicle(*, vehicle: Vehicle, edit: Edit, today: date) -> Vehicle:
    """Save a new or changed car and work out its dates anew; ValidationError names what is wrong."""
    with recorded(vehicle, edit):
        put_vehicle(vehicle=vehicle, today=today)
        follow_kinds(vehicle)
    refresh_vehicles([vehicle.pk], today=today)
    return vehicle


def put_vehicle(*, vehicle: Vehicle, today: date) -> None:
    """The same without an entry, and without working out its dates: for many new cars in a row.

    What is no longer as it was assumed for its kind of car is known from now on.
    """
    vehicle.assumed = " ".join(sorted(_still_assumed(vehicle)))
    if vehicle.bay and vehicle.bay.building.site.organisation_id == vehicle.organisation_id:
        vehicle.bay = free_place(vehicle.bay, vehicle)
    faults = in_future(vehicle, ("stored_since", "left_on"), today)
    faults |= before(vehicle, "left_on", "stored_since")
    faults |= _year_faults(vehicle, today) | _inside_faults(vehicle)
    check(vehicle, faults | _wall_faults(vehicle) | _bay_faults(vehicle))
    vehicle.save()


def _still_assumed(vehicle: Vehicle) -> frozenset[str]:
    stored = Vehicle.objects.filter(pk=vehicle.pk).first() if vehicle.assumed else None
    if stored is None:
        return vehicle.assumed_fields
    return frozenset(n for n in vehicle.assumed_fields if getattr(stored, n) == getattr(vehicle, n))


def _year_faults(vehicle: Vehicle, today: date) -> Faults:
    if vehicle.year is None:
        return {}
    if vehicle.year > today.year + 1:
        return {"year": f"A car of {vehicle.year} is not built yet: read the year again."}
    if vehicle.stored_since and vehicle.stored_since.year < vehicle.year - 1:
        return {"stored_since": f"In storage since before the car was built ({vehicle.year}): check both."}
    return {}


def _inside_faults(vehicle: Vehicle) -> Faults:
    """The tank holds what is in it, and the battery in the car fits its electrics."""
    if vehicle.pk is None:
        return {}
    faults = {}
    fuel = Fuel.objects.filter(vehicle=vehicle, litres__gt=vehicle.tank_litres or inf).first()
    if fuel is not None:
        text = f"{fuel.litres:g} litres are recorded in the tank: it cannot be smaller. Mend the fuel first."
        faults["tank_litres"] = text
    battery = vehicle.batteries.filter(removed_on__isnull=True).first()
    volts = vehicle.system_volts_known
    if volts and battery and (battery.volts or 0) > volts:
        faults["system_volts"] = f"A {battery.volts} V battery is recorded in the car: mend that first."
    return faults


def _wall_faults(vehicle: Vehicle) -> Faults:
    """Nothing crosses from one organisation to another."""
    faults = {}
    if vehicle.owner_id and vehicle.owner.organisation_id != vehicle.organisation_id:
        faults["owner"] = "That owner is not in your organisation: choose one from the list."
    if vehicle.bay and vehicle.bay.building.site.organisation_id != vehicle.organisation_id:
        faults["bay"] = "That bay is not in your organisation: choose one from the list."
    return faults


def _bay_faults(vehicle: Vehicle) -> Faults:
    if vehicle.bay is None or vehicle.left_on is not None:
        return {}
    there = vehicle.bay.vehicles.filter(left_on__isnull=True).exclude(pk=vehicle.pk).first()
    if there is None:
        return {}
    return {"bay": f"The {there} already stands in {vehicle.bay.label}: choose a free bay."}


@transaction.atomic
def save_last_uses(*, vehicle: Vehicle, uses: Sequence[LastUse], edit: Edit, today: date) -> None:
    """Save when the five events last happened; one without a date becomes unknown.

    ValidationError names its fields ``event-field`` (``full_warm-on``).
    """
    with recorded(vehicle, edit):
        put_last_uses(vehicle=vehicle, uses=uses, today=today)
    refresh_vehicles([vehicle.pk], today=today)


def put_last_uses(*, vehicle: Vehicle, uses: Sequence[LastUse], today: date) -> None:
    """The same without an entry, and without working out the car's dates: for a car that is new."""
    known = [use for use in uses if use.on is not None]
    check_rows((use.event, use, _use_faults(use, today)) for use in known)
    if faults := _order_faults({use.event: use.on for use in known}):
        raise ValidationError(dict(faults))
    vehicle.last_uses.exclude(event__in=[use.event for use in known]).delete()
    for use in known:
        use.save()


def _use_faults(use: LastUse, today: date) -> Faults:
    faults = in_future(use, ("on",), today)
    if faults:
        faults["on"] = f"{use.get_event_display()} is in the future: give today or an earlier day."
    if not use.basis:
        faults["basis"] = "Say how this date is known."
    return faults


def _order_faults(days: dict[str, date]) -> Faults:
    """A drive runs the engine and moves the car; a full-warm run is a run."""
    implied = (
        (LastEvent.ROAD_USE, LastEvent.ENGINE_RUN),
        (LastEvent.FULL_WARM, LastEvent.ENGINE_RUN),
        (LastEvent.ROAD_USE, LastEvent.MOVED),
    )
    return {
        f"{then}-on": f"{then.label} cannot be before {event.label.lower()} ({days[event]:%-d %b %Y}), "
        "which implies it: check both dates."
        for event, then in implied
        if event in days and then in days and days[then] < days[event]
    }
