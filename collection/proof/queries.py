"""Reading statements: which chains have grown since the last, and what an exported history holds."""

from datetime import date, datetime, timedelta
from itertools import groupby
from typing import Any

from django.db.models import Exists, F, OuterRef, QuerySet

from collection.care.queries.chain import with_readings
from collection.care.queries.clock import CLOCK_BEHIND, clock_behind_statements
from collection.chain.links import Facts, car_facts, entry_facts, instant
from collection.chain.shape import HISTORY, STATEMENT_FILE
from collection.life.queries import local_day
from collection.models import (
    Anchor,
    AnchoredHead,
    Chain,
    Entry,
    Link,
    Organisation,
    Pseudonym,
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
    unsigned = Entry.objects.filter(
        link__in=Link.objects.filter(~Exists(told), chain__vehicle__organisation=organisation)
    )
    return any(
        local_day(organisation, entry.recorded_at - timedelta(seconds=entry.details.get(CLOCK_BEHIND, 0)))
        < day
        for entry in unsigned.order_by("recorded_at")
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


def newest_statement(chain: Chain) -> tuple[datetime | None, int]:
    """When a statement of ours last covered the chain, and up to which entry."""
    newest = _heads_of(chain).last()
    return (newest.anchor.at, newest.seq) if newest else (None, 0)


def history_facts(vehicle: Vehicle, *, now: datetime) -> Facts:
    """One car's whole chain as it is exported, before key and signature."""
    chain = Chain.objects.filter(vehicle=vehicle).first()
    links = list(chain.links.order_by("seq")) if chain else []
    chained_first = F("link__seq").asc(nulls_last=True)
    log = with_readings(vehicle.entries.select_related("by"))
    entries = list(log.order_by(chained_first, "recorded_at", "pk"))
    tokens = _tokens(entries)
    return {
        "form": HISTORY,
        "made_at": instant(now),
        "kept_by": vehicle.organisation.name,
        "chain": str(chain.pk) if chain else "",
        "car": car_facts(vehicle),
        "people": {tokens[entry.by_id]: entry.by.name for entry in entries},
        "entries": [
            entry_facts(
                entry,
                by=tokens[entry.by_id],
                readings=list(entry.readings.all()),
                attachments=list(entry.attachments.all()),
            )
            for entry in entries
        ],
        "links": [_link_facts(link) for link in links],
        "anchors": _anchors(chain) if chain else [],
    }


def _tokens(entries: list[Entry]) -> dict[int, str]:
    """The pseudonym of each author; a person without one never stood in a chain."""
    authors = {entry.by_id for entry in entries}
    known = dict(Pseudonym.objects.filter(person__in=authors).values_list("person", "token"))
    return {author: str(known.get(author, "")) for author in authors}


def _link_facts(link: Link) -> Facts:
    return {
        "seq": link.seq,
        "previous": link.previous,
        "entry": str(link.entry_id),
        "car": link.car,
        "written": link.written,
        "measured": link.measured,
        "digest": link.digest,
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
