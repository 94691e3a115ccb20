"""Writing down oils, coolant and brake fluid."""

from collections.abc import Sequence
from datetime import date

from django.db import transaction

from collection.care.actions.record import Edit, recorded
from collection.life.core.choices import fluid_types
from collection.life.refresh import refresh_vehicles
from collection.models import Fluid, Vehicle
from collection.web.faults import Faults, check_rows, in_future, unknown
from scheduler.vocabulary.fluids import FLUID


@transaction.atomic
def save_fluids(*, vehicle: Vehicle, fluids: Sequence[Fluid], edit: Edit, today: date) -> None:
    """Save the fluids of a car; one of which nothing is known is not kept.

    ValidationError names its fields ``kind-field`` (``coolant-changed_on``).
    """
    with recorded(vehicle, edit):
        put_fluids(vehicle=vehicle, fluids=fluids, today=today)
    refresh_vehicles([vehicle.pk], today=today)


def put_fluids(*, vehicle: Vehicle, fluids: Sequence[Fluid], today: date) -> None:
    """The same without an entry, and without working out the car's dates: for a car that is new."""
    known = [fluid for fluid in fluids if _is_known(fluid)]
    check_rows((fluid.kind, fluid, _faults(fluid, today)) for fluid in known)
    vehicle.fluids.exclude(kind__in=[fluid.kind for fluid in known]).delete()
    for fluid in known:
        fluid.save()


def _is_known(fluid: Fluid) -> bool:
    return bool(fluid.type) or fluid.changed_on is not None or fluid.glycol_pct is not None


def _faults(fluid: Fluid, today: date) -> Faults:
    faults = in_future(fluid, ("changed_on",), today)
    faults |= unknown(
        "type", fluid.type, fluid_types(fluid.kind), f"type of {fluid.get_kind_display().lower()}"
    )
    if fluid.glycol_pct is not None and not FLUID[fluid.kind].takes_glycol:
        faults["glycol_pct"] = "Only coolant holds glycol: leave this empty."
    return faults
