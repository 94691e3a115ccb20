"""Cars that were handed over, and what came with those that were handed to us."""

from django.core.files.storage import default_storage
from django.db.models import Max, QuerySet

from collection.models import Attachment, Chain, Handover, Link, Vehicle


def path_of(digest: str) -> str:
    """Where the file of a handing over lies in the media folder."""
    return f"handovers/{digest}.zip"


def file_of(handover: Handover) -> bytes | None:
    """The file that went along; None where it is kept no longer."""
    try:
        with default_storage.open(path_of(handover.digest)) as file:
            data: bytes = file.read()
    except OSError:
        return None
    return data


def is_kept(handover: Handover) -> bool:
    """Whether the file that went along still lies here."""
    return bool(default_storage.exists(path_of(handover.digest)))


def attachments_of(vehicle: Vehicle) -> QuerySet[Attachment]:
    """Every file of a car's log, newest entries first."""
    return Attachment.objects.filter(entry__vehicle=vehicle).order_by("-entry__done_at", "number")


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
