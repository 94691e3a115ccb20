"""Reading statements: which chains have grown since the last, and what an exported history holds."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from itertools import groupby
from typing import Any

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Subquery

from collection.care.queries.care import released
from collection.care.queries.chain import with_readings
from collection.care.queries.clock import CLOCK_BEHIND, RECORDED_AT, clock_behind_statements
from collection.care.queries.evidence import evidence_facts
from collection.care.queries.record import record_facts, recorded_values
from collection.care.queries.settings import named, setting_facts
from collection.chain.canonical import digest
from collection.chain.check_outside import COUNTERSIGNATURE, STAMP
from collection.chain.links import Facts, car_facts, entry_facts, instant
from collection.chain.shape import FIRST_STATEMENT_FILE, HISTORY, SETTINGS, STATEMENT_FILE
from collection.chain.signing import public_key
from collection.chain.statements import FIRST_STATEMENT
from collection.host.installation_key import installation_key
from collection.life.queries import local_day
from collection.life.record_entries import record_entries
from collection.life.settings import stands
from collection.models import (
    Anchor,
    AnchoredHead,
    BroughtStamp,
    Chain,
    Countersignature,
    Entry,
    Evidence,
    Handover,
    Link,
    Organisation,
    Pseudonym,
    RecordEntry,
    SettingEntry,
    Vehicle,
    Witness,
    Witnessed,
)

Written = Entry | RecordEntry | Evidence | SettingEntry


def grown_heads(organisation: Organisation) -> QuerySet[Link]:
    """The newest link of each chain that grew since the organisation's last statement, by chain."""
    newer = Link.objects.filter(chain=OuterRef("chain"), seq__gt=OuterRef("seq"))
    told = AnchoredHead.objects.filter(
        chain=OuterRef("chain"), seq=OuterRef("seq"), anchor__organisation=organisation
    )
    links = Link.objects.filter(_kept_by(organisation))
    return links.filter(~Exists(newer), ~Exists(told)).order_by("chain_id")


def _kept_by(organisation: Organisation) -> Q:
    """The chains of an organisation's cars, of its sites and of itself."""
    return Q(chain__vehicle__organisation=organisation) | Q(chain__organisation=organisation)


def last_anchor(organisation: Organisation) -> Anchor | None:
    """The organisation's latest statement."""
    return Anchor.objects.filter(organisation=organisation).order_by("-number").first()


def without_a_statement_today(now: datetime) -> list[Organisation]:
    """Every organisation with a chain that has no statement since its own midnight."""
    has_chain = Q(vehicles__chain__isnull=False) | Q(setting_chains__isnull=False)
    chained = Organisation.objects.filter(has_chain).distinct().order_by("pk")
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
    unsigned = Link.objects.filter(_kept_by(organisation), ~Exists(told))
    rows = unsigned.values_list(RECORDED_AT, "entry__details")
    return any(
        local_day(organisation, written - timedelta(seconds=(details or {}).get(CLOCK_BEHIND, 0))) < day
        for written, details in rows
    )


def statement_file(anchor: Anchor) -> Facts:
    """A statement with the heads it was made of, for whoever keeps it outside."""
    heads = anchor.heads.order_by("place").values_list("chain", "seq", "head")
    file = {
        "form": STATEMENT_FILE,
        "statement": anchor.statement,
        "signature": anchor.signature,
        "heads": [{"chain": str(chain), "seq": seq, "head": head} for chain, seq, head in heads],
        "named": anchor.named,
    }
    if anchor.statement["form"] == FIRST_STATEMENT:
        del file["named"]
        file["form"] = FIRST_STATEMENT_FILE
    return file


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


def history_facts(vehicle: Vehicle, *, now: datetime) -> Facts:
    """One car's whole chain as it is exported, before key and signature."""
    chain = Chain.objects.filter(vehicle=vehicle).first()
    chained_first = F("link__seq").asc(nulls_last=True)
    log = list(
        with_readings(vehicle.entries.select_related("by")).order_by(chained_first, "recorded_at", "pk")
    )
    record, found = record_entries([vehicle.pk])[vehicle.pk], _evidence(vehicle)
    names = _authors([*log, *record, *found])
    said = {str(entry.pk): _entry_facts(entry, names) for entry in log}
    said |= {str(entry.pk): record_facts(entry, by=_token(entry, names)) for entry in record}
    said |= {str(row.pk): evidence_facts(row, by=_token(row, names)) for row in found}
    by_link = {entry.link_id: str(entry.pk) for entry in record}
    by_link |= {row.link_id: str(row.pk) for row in found if row.link_id}
    return {
        "form": HISTORY,
        "made_at": instant(now),
        "kept_by": vehicle.organisation.name,
        "car": car_facts(vehicle),
        **_chained(chain, said, by_link),
        "people": {token: name for token, name in names.values() if token is not None},
        "record": recorded_values([vehicle.pk])[vehicle.pk],
        "witnesses": witnesses_of(chain) if chain else [],
    }


def witnesses_of(chain: Chain) -> list[Facts]:
    """Stamps over the statements that cover a chain, ours and those that came with it; countersignatures."""
    ours = Witnessed.objects.filter(anchor__heads__chain=chain, witness__kind=Witness.Kind.AUTHORITY)
    stamps = [(digest(each.anchor.statement), each.response) for each in ours.select_related("anchor")]
    stamps += chain.brought_stamps.order_by("pk").values_list("statement", "response")
    signed = chain.countersignatures.values("statement", "signature", "named", "passkey")
    return [
        *({"form": STAMP, "statement": of, "response": response} for of, response in stamps),
        *({"form": COUNTERSIGNATURE, **each} for each in signed),
    ]


def witnessed_since(vehicle: Vehicle) -> datetime | None:
    """When somebody outside first saw the car's chain: by a stamp, ours or brought along, or a signature."""
    rows = (
        Witnessed.objects.filter(anchor__heads__chain=OuterRef("pk"), witness__kind=Witness.Kind.AUTHORITY),
        Countersignature.objects.filter(chain=OuterRef("pk")),
        BroughtStamp.objects.filter(chain=OuterRef("pk")),
    )
    first = [Subquery(each.order_by("at").values("at")[:1]) for each in rows]
    moments = Chain.objects.filter(vehicle=vehicle).values_list(*first).first() or ()
    return min((moment for moment in moments if moment), default=None)


def received_here(vehicle: Vehicle) -> bool:
    """Whether this installation signed for the car when it came by a file."""
    ours = {"statement__as": "receiver", "statement__key": public_key(installation_key())}
    return Countersignature.objects.filter(chain__vehicle=vehicle, **ours).exists()


def not_yet_shown(witness: Witness) -> list[Anchor]:
    """The statements that a witness has yet to see: for each chain, the newest that covers it."""
    newer = AnchoredHead.objects.filter(chain=OuterRef("chain"), seq__gt=OuterRef("seq"))
    last = AnchoredHead.objects.filter(~Exists(newer), anchor__organisation=witness.organisation_id)
    rows = Anchor.objects.filter(pk__in=last.values("anchor")).exclude(witnessed__witness=witness)
    return list(rows.order_by("number"))


def witnesses_due(now: datetime) -> list[int]:
    """Witnesses that are to be shown something now."""
    rows = Witness.objects.filter(ended_at__isnull=True, next_at__lte=now).select_related("organisation")
    return [each.pk for each in rows if not_yet_shown(each)]


def setting_history_facts(chain: Chain, *, now: datetime) -> Facts:
    """The whole chain of what is set for an organisation or a site, before key and signature."""
    assert chain.organisation is not None  # noqa: S101  # a rule of the table
    entries = list(chain.setting_entries.select_related("by", "chain").order_by("link__seq"))
    names = _authors(entries)
    said = {str(entry.pk): setting_facts(entry, by=_token(entry, names)) for entry in entries}
    return {
        "form": SETTINGS,
        "made_at": instant(now),
        "kept_by": chain.organisation.name,
        "car": named(chain),
        **_chained(chain, said, {entry.link_id: str(entry.pk) for entry in entries}),
        "people": {token: name for token, name in names.values() if token is not None},
        "record": stands(chain.organisation.pk, chain.subject),
    }


def _evidence(vehicle: Vehicle) -> list[Evidence]:
    """A car's evidence; what stands in no chain counts as put in, unless the chain goes on elsewhere."""
    rows = vehicle.evidence.select_related("by", "document").order_by("link__seq", "recorded_at", "pk")
    return list(rows.filter(link__isnull=False) if released(vehicle) else rows)


def _chained(chain: Chain | None, said: dict[str, Facts], by_link: Mapping[int, str]) -> Facts:
    """The chain with its entries in its order, what stands in none behind them, and its statements."""
    links = list(chain.links.order_by("seq")) if chain else []
    of = {link.pk: str(link.entry_id) if link.entry_id else by_link.get(link.pk, "") for link in links}
    in_chain = [said.pop(of[link.pk]) for link in links if of[link.pk] in said]
    return {
        "chain": str(chain.pk) if chain else "",
        "entries": [*in_chain, *said.values()],
        "links": [_link_facts(link, of[link.pk]) for link in links],
        "anchors": _anchors(chain) if chain else [],
        "withheld": {},
    }


def _authors(entries: Iterable[Written]) -> dict[int, tuple[str, str]]:
    """Pseudonym and name of each author; a person without one never stood in a chain."""
    authors = {entry.by.pk: entry.by.name for entry in entries if entry.by}
    known = dict(Pseudonym.objects.filter(person__in=authors).values_list("person", "token"))
    return {author: (str(known.get(author, "")), name) for author, name in authors.items()}


def _token(entry: Written, names: dict[int, tuple[str, str]]) -> str:
    return names[entry.by_id][0] if entry.by_id else ""


def _entry_facts(entry: Entry, names: dict[int, tuple[str, str]]) -> Facts:
    return entry_facts(
        entry,
        by=_token(entry, names),
        readings=list(entry.readings.all()),
        attachments=list(entry.attachments.all()),
    )


def _link_facts(link: Link, entry: str) -> Facts:
    return {
        "seq": link.seq,
        "previous": link.previous,
        "entry": entry,
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
    names = ("statement", "signature", "seq", "place", "proof", "named")
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
        "named": head.anchor.named,
    }
