"""Cars that were handed over, and what came with those that were handed to us."""

from django.core.files.storage import default_storage
from django.db.models import QuerySet

from collection.models import Attachment, Chain, Handover, Vehicle
from collection.models.handovers import path_of


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
    row = Chain.objects.select_related("vehicle__organisation").filter(pk=chain)
    return row.select_for_update(of=("self",)).first()
