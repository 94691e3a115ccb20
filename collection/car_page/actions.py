"""What a person sets on the page of a car."""

from collection.care.actions.record import Edit, recorded
from collection.models import Attachment, Vehicle


def show_by(*, vehicle: Vehicle, photograph: Attachment | None, edit: Edit) -> None:
    """Show the car by a photograph of its own log, or by its silhouette."""
    with recorded(vehicle, edit):
        vehicle.photograph = photograph
        vehicle.save(update_fields=["photograph"])
