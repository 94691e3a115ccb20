"""Removing a car that was written down by mistake: only while nothing but its record is there."""

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import ProtectedError

from collection.models import LoggerFile, Vehicle


def why_not_removed(vehicle: Vehicle) -> str:
    """What keeps a car here; empty where it may be removed."""
    if vehicle.entries.exists():
        return "Care is logged for it, and the log only grows."
    if vehicle.shares.exists() or vehicle.handovers.exists() or hasattr(vehicle, "chain"):
        return "Its history was shown to somebody outside, who may ask for it again."
    if vehicle.evidence.exists() or LoggerFile.objects.filter(vehicle=vehicle).exists():
        return "Evidence or a logger's file is kept with it."
    return ""


@transaction.atomic
def remove_vehicle(*, vehicle: Vehicle) -> None:
    """Remove the car with its record; ValidationError says what keeps it here."""
    Vehicle.objects.select_for_update().get(pk=vehicle.pk)  # nobody logs meanwhile
    if fault := why_not_removed(vehicle):
        raise ValidationError(fault)
    try:
        vehicle.delete()
    except ProtectedError as error:
        raise ValidationError("Something else names it now: look again.") from error
