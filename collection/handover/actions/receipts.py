"""Receipts: the receiving side signs where the history that it was given ends; the giving side keeps that."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.chain.canonical import canonical
from collection.chain.countersigning import statement_of, who_signs
from collection.chain.handover import RECEIVER, receipt_fault
from collection.chain.signing import public_key, sign
from collection.handover.queries.handovers import history_of
from collection.host.installation_key import installation_key
from collection.models import Chain, Countersignature, Handover
from collection.proof.witnessing import keep_countersignature


def sign_receipt(chain: Chain, history: Mapping[str, Any], name: str, now: datetime) -> Countersignature:
    """Ours, under our key, over the last entry that came."""
    private, last, named = installation_key(), history["links"][-1], who_signs(name)
    head = (history["chain"], last["seq"], last["digest"])
    statement = statement_of(
        head, role=RECEIVER, occasion="handover", named=named, at=now, key=public_key(private)
    )
    signed = {"statement": statement, "signature": sign(private, statement), "named": named, "passkey": None}
    return keep_countersignature(chain, signed)


def receipt_file(row: Countersignature) -> bytes:
    """A receipt as it goes back to the giving side."""
    names = ("statement", "signature", "named", "passkey")
    return canonical({"form": "countersignature", **{name: getattr(row, name) for name in names}})


@transaction.atomic
def take_receipt(*, handover: Handover, data: bytes) -> None:
    """Keep the receipt of whoever received the car; ValidationError (``receipt``) where it is none."""
    history, chain = history_of(handover), Chain.objects.select_for_update().get(vehicle=handover.vehicle)
    if history is None:
        raise ValidationError({"receipt": "The file that was handed over is kept no longer."})
    signed, fault = receipt_fault(data, history)
    if fault:
        raise ValidationError({"receipt": fault})
    if not chain.countersignatures.filter(signature=signed["signature"]).exists():
        keep_countersignature(chain, signed)
