"""Chaining entries: each is added to its car's chain as it is stored."""

from collections.abc import Sequence
from itertools import groupby

from django.db import transaction

from collection.care.queries.chain import in_order, unchained, with_readings
from collection.chain.links import NOTHING_BEFORE, Facts, car_facts, entry_facts, next_link
from collection.models import Chain, Entry, Link, Pseudonym, Vehicle


def chain_entry(entry: Entry) -> None:
    """Add an entry just stored, with its readings, to its car's chain; call it in the same transaction.

    It is read back first, so that what is chained is what the database will give ever after.
    """
    with transaction.atomic():
        _append(entry.vehicle, [with_readings(Entry.objects.all()).get(pk=entry.pk)])


@transaction.atomic
def chain_entries(stored: Sequence[Entry]) -> None:
    """Chain what was just stored in bulk, in the order in which it was recorded.

    Whatever else of these cars stands in no chain yet is left to ``chain_missing``.
    """
    loose = in_order(Entry.objects.filter(pk__in=[entry.pk for entry in stored]))
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
    tokens = pseudonyms({entry.by_id for entry in entries})
    chained = [
        entry_facts(
            entry,
            by=tokens[entry.by_id],
            readings=list(entry.readings.all()),
            attachments=list(entry.attachments.all()),
        )
        for entry in entries
    ]
    append_links(vehicle, chained, list(entries))


def append_links(vehicle: Vehicle, chained: Sequence[Facts], entries: Sequence[Entry | None]) -> list[Link]:
    """Add entries as they are chained to a car's chain; ``entries`` are their rows in the log, if any."""
    chain, _ = Chain.objects.get_or_create(vehicle=vehicle)
    return add_links(chain, chained, entries, of=car_facts(vehicle))


def add_links(
    chain: Chain, chained: Sequence[Facts], entries: Sequence[Entry | None], *, of: Facts
) -> list[Link]:
    """Add entries to any chain; ``of`` says which car or which settings it is, as of now."""
    Chain.objects.select_for_update().get(pk=chain.pk)  # one writer a chain
    last = chain.links.order_by("-seq").first()
    seq, previous = (last.seq, last.digest) if last else (0, NOTHING_BEFORE)
    links = []
    for facts, entry in zip(chained, entries, strict=True):
        seq += 1
        made = next_link(str(chain.pk), facts, car=of, seq=seq, previous=previous)
        links.append(Link(chain=chain, **made | {"entry": entry}))
        previous = made["digest"]
    return Link.objects.bulk_create(links, batch_size=500)


def pseudonyms(authors: set[int]) -> dict[int, str]:
    """What stands for each author in a chain; made when somebody first writes."""
    return {
        author: str(Pseudonym.objects.get_or_create(person_id=author)[0].token) for author in sorted(authors)
    }
