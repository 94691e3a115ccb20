"""Reading statements: which chains have grown since the last, and what an exported history holds."""

from collections.abc import Collection, Iterable
from datetime import date, datetime, timedelta
from itertools import groupby
from typing import Any

from django.db.models import Exists, F, OuterRef, QuerySet

from collection.care.queries.chain import with_readings
from collection.care.queries.clock import CLOCK_BEHIND, clock_behind_statements
from collection.care.queries.record import record_facts, recorded_values
from collection.chain.links import Facts, car_facts, entry_facts, instant
from collection.chain.shape import HISTORY, STATEMENT_FILE
from collection.chain.withholding import withheld
from collection.life.queries import local_day
from collection.life.record_entries import record_entries
from collection.models import (
    Anchor,
    AnchoredHead,
    Chain,
    Entry,
    Handover,
    Link,
    Organisation,
    Pseudonym,
    RecordEntry,
    Vehicle,
)


def grown_heads(organisation: Organisation) -> QuerySet[Link]:
    """The newest link of each chain that grew since the organisation's last statement, by chain."""
    newer = Link.objects.filter(chain=OuterRef("chain"), seq__gt=OuterRef("seq"))
    told = AnchoredHead.objects.filter(
        chain=OuterRef("chain"), seq=OuterRef("seq"), anchor__organisation=organisation
    )
    links = Link.objects.filter(chain__vehicle__organisation=organisation)
    return links.filter(~Exists(newer), ~Exists(told)).order_by("chain_id")


def last_anchor(organisation: Organisation) -> Anchor | None:
    """The organisation's latest statement."""
    return Anchor.objects.filter(organisation=organisation).order_by("-number").first()


def without_a_statement_today(now: datetime) -> list[Organisation]:
    """Every organisation with a chain that has no statement since its own midnight."""
    chained = Organisation.objects.filter(vehicles__chain__isnull=False).distinct().order_by("pk")
    return [each for each in chained if lacks_todays_statement(each, now)]


def lacks_todays_statement(organisation: Organisation, now: datetime) -> bool:
    """Whether there is none since the organisation's own midnight."""
    last, day = last_anchor(organisation), local_day(organisation, now)
    if last is None:
        return True
    if clock_behind_statements(organisation, now):
        return _grew_before(organisation, day)
    return local_day(organisation, last.at) < day


def _grew_before(organisation: Organisation, day: date) -> bool:
    """Whether something unsigned was recorded before this day began, by the clock that stands behind."""
    told = AnchoredHead.objects.filter(chain=OuterRef("chain"), seq__gte=OuterRef("seq"))
    unsigned = Link.objects.filter(~Exists(told), chain__vehicle__organisation=organisation)
    rows = unsigned.values_list("entry__recorded_at", "record__recorded_at", "entry__details")
    return any(
        local_day(organisation, (done or edited) - timedelta(seconds=(details or {}).get(CLOCK_BEHIND, 0)))
        < day
        for done, edited, details in rows
    )


def statement_file(anchor: Anchor) -> Facts:
    """A statement with the heads it was made of, for whoever keeps it outside."""
    heads = anchor.heads.order_by("place").values_list("chain", "seq", "head")
    return {
        "form": STATEMENT_FILE,
        "statement": anchor.statement,
        "signature": anchor.signature,
        "heads": [{"chain": str(chain), "seq": seq, "head": head} for chain, seq, head in heads],
    }


def series() -> list[list[Facts]]:
    """For each organisation with statements, all of them by number."""
    anchors = Anchor.objects.order_by("organisation_id", "number")
    return [
        [statement_file(anchor) for anchor in group]
        for _, group in groupby(anchors, key=lambda anchor: anchor.organisation_id)
    ]


def lost_chains() -> list[str]:
    """Chains that a statement speaks of and that are no longer here."""
    gone = AnchoredHead.objects.exclude(chain__in=Chain.objects.all())
    return [str(chain) for chain in gone.order_by("chain_id").values_list("chain_id", flat=True).distinct()]


def unopened() -> QuerySet[Vehicle]:
    """Cars whose record stands in no chain, but for those whose chain goes on with another keeper."""
    given = Handover.objects.filter(vehicle=OuterRef("pk"), organisation=OuterRef("organisation"))
    cars = Vehicle.objects.filter(record_entries__isnull=True)
    return cars.exclude(Exists(given), left_on__isnull=False).order_by("pk")


def newest_statement(chain: Chain) -> tuple[datetime | None, int]:
    """When a statement of ours last covered the chain, and up to which entry."""
    newest = _heads_of(chain).last()
    return (newest.anchor.at, newest.seq) if newest else (None, 0)


def history_facts(vehicle: Vehicle, *, now: datetime, without: Collection[str] = ()) -> Facts:
    """One car's whole chain as it is exported, before key and signature.

    ``without``: fields of entries (``note``) that are withheld; what is chained of them still verifies.
    """
    chain = Chain.objects.filter(vehicle=vehicle).first()
    links = list(chain.links.select_related("record").order_by("seq")) if chain else []
    chained_first = F("link__seq").asc(nulls_last=True)
    log = list(
        with_readings(vehicle.entries.select_related("by")).order_by(chained_first, "recorded_at", "pk")
    )
    record = record_entries([vehicle.pk])[vehicle.pk]
    names = _authors([*log, *record])
    said = {str(entry.pk): _entry_facts(entry, names) for entry in log}
    said |= {str(entry.pk): record_facts(entry, by=_token(entry, names)) for entry in record}
    in_chain = [said.pop(of) for link in links if (of := _said_by(link)) in said]
    facts = {
        "form": HISTORY,
        "made_at": instant(now),
        "kept_by": vehicle.organisation.name,
        "chain": str(chain.pk) if chain else "",
        "car": car_facts(vehicle),
        "people": {token: name for token, name in names.values() if token is not None},
        "entries": [*in_chain, *said.values()],
        "links": [_link_facts(link) for link in links],
        "anchors": _anchors(chain) if chain else [],
        "record": recorded_values([vehicle.pk])[vehicle.pk],
    }
    return withheld(facts, without) if without else facts


def _authors(entries: Iterable[Entry | RecordEntry]) -> dict[int, tuple[str, str]]:
    """Pseudonym and name of each author; a person without one never stood in a chain."""
    authors = {entry.by.pk: entry.by.name for entry in entries if entry.by}
    known = dict(Pseudonym.objects.filter(person__in=authors).values_list("person", "token"))
    return {author: (str(known.get(author, "")), name) for author, name in authors.items()}


def _token(entry: Entry | RecordEntry, names: dict[int, tuple[str, str]]) -> str:
    return names[entry.by_id][0] if entry.by_id else ""


def _entry_facts(entry: Entry, names: dict[int, tuple[str, str]]) -> Facts:
    return entry_facts(
        entry,
        by=_token(entry, names),
        readings=list(entry.readings.all()),
        attachments=list(entry.attachments.all()),
    )


def _said_by(link: Link) -> str:
    """The entry of the log or of the record that a link chains."""
    record = getattr(link, "record", None)
    return str(record.pk if record else link.entry_id)


def _link_facts(link: Link) -> Facts:
    return {
        "seq": link.seq,
        "previous": link.previous,
        "entry": _said_by(link),
        "car": link.car,
        "written": link.written,
        "measured": link.measured,
        "digest": link.digest,
        "fields": link.fields,
    }


def _heads_of(chain: Chain) -> QuerySet[AnchoredHead]:
    return chain.anchored.select_related("anchor").order_by("seq", "anchor__at")


def _anchors(chain: Chain) -> list[Facts]:
    """Our own statements and those that came with the car from other installations, in their order."""
    names = ("statement", "signature", "seq", "place", "proof")
    brought = [{name: getattr(each, name) for name in names} for each in chain.brought.all()]
    own = [_anchor_facts(head) for head in _heads_of(chain)]
    return sorted([*brought, *own], key=lambda anchor: (anchor["seq"], anchor["statement"]["at"]))


def _anchor_facts(head: AnchoredHead) -> dict[str, Any]:
    return {
        "statement": head.anchor.statement,
        "signature": head.anchor.signature,
        "seq": head.seq,
        "place": head.place,
        "proof": head.proof,
    }
