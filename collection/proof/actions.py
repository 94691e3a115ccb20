"""Signing statements over the chains, and exporting a history that proves itself."""

from collections.abc import Callable
from datetime import datetime

from django.db import transaction

from collection.chain.canonical import canonical, digest
from collection.chain.links import NOTHING_BEFORE, Facts
from collection.chain.signing import public_key, sign
from collection.chain.statements import keeper, make
from collection.chain.withholding import withhold
from collection.host.installation_key import installation_key
from collection.life.queries import held
from collection.models import Anchor, AnchoredHead, Chain, Organisation, Vehicle
from collection.proof.queries import (
    grown_heads,
    history_facts,
    lacks_todays_statement,
    last_anchor,
    setting_history_facts,
)


@transaction.atomic
def sign_statement(*, organisation: Organisation, now: datetime) -> Anchor:
    """State and sign which of the organisation's chains grew since its last statement, and to where.

    It is never dated before the statement that it follows, whatever the clock says.
    """
    links, last, private = list(grown_heads(organisation)), last_anchor(organisation), installation_key()
    number, now = (last.number + 1, max(now, last.at)) if last else (1, now)
    named = keeper(private, organisation.name)
    statement, signature, proofs = make(
        private,
        [(str(link.chain_id), link.seq, link.digest) for link in links],
        by=named,
        number=number,
        since=last.at if last else None,
        at=now,
        previous=digest(last.statement) if last else NOTHING_BEFORE,
    )
    anchor = Anchor.objects.create(
        organisation=organisation,
        number=number,
        at=now,
        statement=statement,
        signature=signature,
        named=named,
    )
    AnchoredHead.objects.bulk_create(
        (
            AnchoredHead(
                anchor=anchor,
                chain_id=link.chain_id,
                seq=link.seq,
                head=link.digest,
                place=place,
                proof=proof,
            )
            for place, (link, proof) in enumerate(zip(links, proofs, strict=True))
        ),
        batch_size=500,
    )
    return anchor


@transaction.atomic
def sign_todays_statement(*, organisation: Organisation, now: datetime) -> None:
    """Sign the day's statement, unless another host has done so since."""
    held(organisation)
    if lacks_todays_statement(organisation, now):
        sign_statement(organisation=organisation, now=now)


def export_history(
    vehicle: Vehicle, *, now: datetime, without: Callable[[Facts], Facts] = lambda whole: whole
) -> bytes:
    """One car's history as a file that can be checked without us; ``without`` leaves parts of it out."""
    return _signed(without(history_facts(vehicle, now=now)))


def without_notes(history: Facts) -> Facts:
    """The history without the notes of its entries."""
    return withhold(history, {entry["id"]: ["note"] for entry in history["entries"] if entry["note"]})


def export_settings(chain: Chain, *, now: datetime) -> bytes:
    """What is set for an organisation or a site, with all that it was, as such a file."""
    return _signed(setting_history_facts(chain, now=now))


def _signed(facts: Facts) -> bytes:
    private = installation_key()
    history = facts | {"key": public_key(private)}
    return canonical(history | {"signature": sign(private, history)})
