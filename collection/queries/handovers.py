"""Cars that were handed over, and what came with those that were handed to us."""

from django.db.models import Max

from collection.models import Chain, Link, Vehicle


def chain_here(chain: str) -> Chain | None:
    """A chain that this installation holds already."""
    found = Chain.objects.select_related("vehicle__organisation").filter(pk=chain)
    return found.select_for_update().first()


def released(vehicle: Vehicle) -> bool:
    """Whether whoever kept the car last has handed it over and not had it back."""
    if vehicle.left_on is None:
        return False
    return vehicle.handovers.filter(organisation=vehicle.organisation_id).exists()


def brought_entries(vehicle: Vehicle) -> set[object]:
    """Entries that came with the car from another installation: keys of rows in them are not ours."""
    reach = Chain.objects.filter(vehicle=vehicle).aggregate(reach=Max("brought__seq"))["reach"]
    if not reach:
        return set()
    return set(Link.objects.filter(chain__vehicle=vehicle, seq__lte=reach).values_list("entry_id", flat=True))
