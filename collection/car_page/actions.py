"""How pages show a car."""

from collection.models import Attachment, Vehicle


def show_by(*, vehicle: Vehicle, photograph: Attachment | None) -> None:
    """Show the car by a photograph of its own log, or by its silhouette."""
    Vehicle.objects.filter(pk=vehicle.pk).update(photograph=photograph)
