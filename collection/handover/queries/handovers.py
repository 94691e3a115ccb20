"""Cars that were handed over, and what came with those that were handed to us."""

from io import BytesIO
from zipfile import ZipFile

from django.core.files.storage import default_storage
from django.db.models import QuerySet

from collection.chain.canonical import read
from collection.chain.handover import PAPERS, RECEIVER
from collection.chain.links import Facts
from collection.chain.signing import public_key
from collection.host.installation_key import installation_key
from collection.models import Attachment, Chain, Countersignature, Handover, Vehicle
from collection.models.handovers import path_of


def file_of(handover: Handover) -> bytes | None:
    """The file that went along; None where it is kept no longer."""
    try:
        with default_storage.open(path_of(handover.digest)) as file:
            data: bytes = file.read()
    except OSError:
        return None
    return data


def history_of(handover: Handover) -> Facts | None:
    """The history that was handed over; None where its file is kept no longer."""
    file = file_of(handover)
    if file is None:
        return None
    with ZipFile(BytesIO(file)) as archive:
        facts: Facts = read(archive.read(PAPERS))["history"]
    return facts


def receipt_of(handover: Handover) -> Countersignature | None:
    """What whoever received the car signed."""
    signed = Countersignature.objects.filter(chain__vehicle=handover.vehicle_id, at__gte=handover.at)
    return signed.filter(statement__as=RECEIVER).first()


def own_receipt(vehicle: Vehicle) -> Countersignature | None:
    """What this installation signed when the car came."""
    key = public_key(installation_key())
    signed = Countersignature.objects.filter(chain__vehicle=vehicle, statement__as=RECEIVER)
    return signed.filter(statement__key=key).last()


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
