"""Chaining entries, signing statements over the chains, exporting a history that proves itself."""

from collections.abc import Sequence
from datetime import datetime
from itertools import groupby

from django.db import transaction

from collection.chain.canonical import canonical, digest
from collection.chain.links import NOTHING_BEFORE, car_facts, entry_facts, next_link
from collection.chain.signing import public_key, sign
from collection.chain.statements import make
from collection.installation_key import installation_key
from collection.models import Anchor, AnchoredHead, Chain, Entry, Link, Organisation, Pseudonym, Vehicle
from collection.queries.chain import (
    grown_heads,
    history_facts,
    lacks_todays_statement,
    last_anchor,
    unchained,
    unchained_of,
    with_readings,
)
from collection.queries.runs import held


def chain_entry(entry: Entry) -> None:
    """Add an entry just stored, with its readings, to its car's chain; call it in the same transaction.

    It is read back first, so that what is chained is what the database will give ever after.
    """
    with transaction.atomic():
        _append(entry.vehicle, [with_readings(Entry.objects.all()).get(pk=entry.pk)])


@transaction.atomic
def chain_entries(vehicles: Sequence[Vehicle]) -> None:
    """Chain what was just stored in bulk for these cars, in the order in which it was recorded."""
    loose = unchained_of([vehicle.pk for vehicle in vehicles])
    for car, entries in groupby(loose, key=lambda entry: entry.vehicle):
        _append(car, list(entries))


@transaction.atomic
def chain_missing() -> int:
    """Chain every entry that stands in no chain yet, as bulk loaders leave them; returns how many."""
    loose = list(unchained())
    for car, entries in groupby(loose, key=lambda entry: entry.vehicle):
        _append(car, list(entries))
    return len(loose)


def _append(vehicle: Vehicle, entries: Sequence[Entry]) -> None:
    chain, _ = Chain.objects.get_or_create(vehicle=vehicle)
    Chain.objects.select_for_update().get(pk=chain.pk)  # one writer a chain
    last = chain.links.order_by("-seq").first()
    seq, previous = (last.seq, last.digest) if last else (0, NOTHING_BEFORE)
    car, tokens, links = car_facts(vehicle), _pseudonyms(entries), []
    for entry in entries:
        seq += 1
        said = entry_facts(
            entry,
            by=tokens[entry.by_id],
            readings=list(entry.readings.all()),
            attachments=list(entry.attachments.all()),
        )
        made = next_link(str(chain.pk), said, car=car, seq=seq, previous=previous)
        links.append(Link(chain=chain, **made | {"entry": entry}))
        previous = made["digest"]
    Link.objects.bulk_create(links, batch_size=500)


def _pseudonyms(entries: Sequence[Entry]) -> dict[int, str]:
    """What stands for each author in a chain; made when somebody first writes."""
    authors = {entry.by_id for entry in entries}
    return {
        author: str(Pseudonym.objects.get_or_create(person_id=author)[0].token) for author in sorted(authors)
    }


@transaction.atomic
def sign_statement(*, organisation: Organisation, now: datetime) -> Anchor:
    """State and sign which of the organisation's chains grew since its last statement, and to where.

    It is never dated before the statement that it follows, whatever the clock says.
    """
    links, last, private = list(grown_heads(organisation)), last_anchor(organisation), installation_key()
    number, now = (last.number + 1, max(now, last.at)) if last else (1, now)
    statement, signature, proofs = make(
        private,
        [(str(link.chain_id), link.seq, link.digest) for link in links],
        by=organisation.name,
        number=number,
        since=last.at if last else None,
        at=now,
        previous=digest(last.statement) if last else NOTHING_BEFORE,
    )
    anchor = Anchor.objects.create(
        organisation=organisation, number=number, at=now, statement=statement, signature=signature
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


def export_history(vehicle: Vehicle, *, now: datetime) -> bytes:
    """One car's history as a file that the verifier can check without us."""
    private = installation_key()
    history = history_facts(vehicle, now=now) | {"key": public_key(private)}
    return canonical(history | {"signature": sign(private, history)})
