"""Entries, links and statements that came with a car, stored exactly as they were chained.

What a new kind of entry holds must survive this: it is checked by the rules of a form, stored, and the whole
file must verify again.
"""

import uuid
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError

from collection.care.actions.attachments import keep
from collection.care.actions.moves import FILLED_IN
from collection.care.checks import check_as_written
from collection.care.draft import Draft, Measured
from collection.care.queries.clock import CLOCK_BEHIND
from collection.care.queries.evidence import EVIDENCE
from collection.chain.canonical import digest
from collection.chain.check_outside import COUNTERSIGNATURE, STAMP
from collection.chain.handover import Brought
from collection.chain.replay import RECORD
from collection.chain.stamps import read_stamp
from collection.models import (
    Attachment,
    Basis,
    BroughtStamp,
    BroughtStatement,
    Chain,
    Entry,
    Link,
    Person,
    Pseudonym,
    Reading,
    RecordEntry,
    Vehicle,
)
from collection.models.care import CLAIM_SKEW
from collection.proof.queries import witnesses_of
from collection.proof.witnessing import keep_countersignature

STRANGER = "handed-over.invalid"  # RFC 2606: no mail ever goes there
KEY_LIMIT = 64
NOT_LOGGED = (RECORD, EVIDENCE)  # kinds of entries that are no rows of the care log
NO_RECORD = "What was written on the car's record cannot be read here"
LABELS = ("was_label", "now_label", "corrects")
FACT = {"was", "now", "since", *LABELS}
HOLDING_DAYS = ("_since", "_on", ".on", "as_of")  # how fields end that hold a day
FIELD_LIMIT, VALUE_LIMIT = 100, 500  # characters; policy: far longer than any field of ours


def refused(why: str) -> ValidationError:
    """What stops the whole arrival."""
    return ValidationError({"file": f"{why}. Nothing was stored."})


def same_so_far(chain: Chain, history: Mapping[str, Any]) -> int:
    """How many links of the history stand here already; refused where the two disagree."""
    here = list(chain.links.order_by("seq").values_list("digest", flat=True))
    there = [link["digest"] for link in history["links"]]
    if there[: len(here)] != here:
        raise refused("What stands here of this car's history is not what the file tells")
    return len(here)


def add_entries(vehicle: Vehicle, history: Mapping[str, Any], have: int, now: datetime) -> None:
    """The entries beyond the first ``have``, under their own ids, by people of their own names."""
    new = [entry for entry in history["entries"][have:] if entry["kind"] not in NOT_LOGGED]
    known = {entry["id"] for entry in history["entries"][:have]}
    authors = authors_of(new, history["people"])
    entries, readings = [], []
    for facts in new:
        entry, measured = _entry(vehicle, facts, authors, known)
        _check(vehicle, facts, measured, now)
        known.add(facts["id"])
        entries.append(entry)
        readings += [Reading(entry=entry, **facts_of) for facts_of in facts["readings"]]
    Entry.objects.bulk_create(entries, batch_size=500)
    Reading.objects.bulk_create(readings, batch_size=500)


def add_files(history: Mapping[str, Any], have: int, files: Mapping[str, bytes]) -> None:
    """The photographs and documents of the entries beyond the first ``have``; rows also for those missing."""
    rows = []
    for entry in history["entries"][have:]:
        for number, facts in enumerate(entry["attachments"], 1):
            if entry["kind"] == RECORD:
                raise refused(NO_RECORD)
            _check_file(facts)
            if entry["kind"] == EVIDENCE:
                continue  # its document is a file of the log
            rows.append(Attachment(entry_id=uuid_of(entry["id"]), number=number, **facts))
    for name, data in files.items():
        keep(name, data)
    Attachment.objects.bulk_create(rows, batch_size=500)


def _check_file(facts: Mapping[str, Any]) -> None:
    try:
        Attachment(number=1, **facts).clean_fields(exclude=["id", "entry"])
    except ValidationError as fault:
        raise refused(f"A photograph or document cannot be read here: {'; '.join(fault.messages)}") from fault


def missing_files(brought: Brought) -> int:
    """How many files the entries name that did not come along."""
    entries = brought.facts["history"]["entries"] if brought.facts else []
    return len({file["digest"] for entry in entries for file in entry["attachments"]} - brought.files.keys())


def _entry(
    vehicle: Vehicle, facts: Mapping[str, Any], authors: Mapping[str, Person], known: set[str]
) -> tuple[Entry, list[Measured]]:
    if facts["corrects"] is not None and facts["corrects"] not in known:
        raise refused("An entry corrects another that does not stand before it")
    entry = Entry(
        pk=uuid_of(facts["id"]),
        vehicle=vehicle,
        kind=facts["kind"],
        by=authors[facts["by"]],
        done_at=datetime.fromisoformat(facts["done_at"]),
        note=facts["note"],
        details=facts["details"],
        recorded_at=datetime.fromisoformat(facts["recorded_at"]),
        idempotency_key=facts["key"],
        corrects_id=uuid_of(facts["corrects"]) if facts["corrects"] else None,
    )
    return entry, [Measured(**reading) for reading in facts["readings"]]


def uuid_of(text: str) -> uuid.UUID:
    """A number as we write them; refused where it is none."""
    try:
        return uuid.UUID(text)
    except ValueError as error:
        raise refused("An entry's number is not of the form that we write") from error


def _check(vehicle: Vehicle, facts: Mapping[str, Any], measured: list[Measured], now: datetime) -> None:
    """Each entry must be one that our own pages could have written."""
    details = {name: value for name, value in facts["details"].items() if name not in FILLED_IN}
    if not all(isinstance(facts["details"].get(flag, 0), int) for flag in (CLAIM_SKEW, CLOCK_BEHIND)):
        raise refused(f"An entry of {facts['done_at'][:10]} is flagged for its clock in no number")
    done = datetime.fromisoformat(facts["done_at"])
    draft = Draft(vehicle, facts["kind"], done, details, measured, facts["note"])
    try:
        check_as_written(draft, now=now)
    except ValidationError as fault:
        text = "; ".join(fault.messages)
        raise refused(f"An entry of {facts['done_at'][:10]} cannot be read here: {text}") from fault
    if not 0 < len(facts["key"]) <= KEY_LIMIT:
        raise refused(f"An entry of {facts['done_at'][:10]} has no key of 1 to {KEY_LIMIT} characters")


def authors_of(new: list[Any], names: Mapping[str, str]) -> dict[str, Person]:
    """A person for each pseudonym: known from an earlier car of theirs, or new and without a sign-in.

    A file cannot put words into the mouth of somebody who signs in here.
    """
    tokens = {entry["by"] for entry in new}
    known = Pseudonym.objects.filter(token__in=[uuid_of(token) for token in tokens]).select_related("person")
    authors = {str(row.token): row.person for row in known}
    for person in authors.values():
        if not person.email.endswith(f"@{STRANGER}"):
            raise refused(f"It holds entries by {person} that {person} did not write here")
    return authors | {token: _stranger(token, names) for token in sorted(tokens - authors.keys())}


def _stranger(token: str, names: Mapping[str, str]) -> Person:
    name = names.get(token, "")[: Person._meta.get_field("name").max_length]
    person = Person.objects.create_user(f"{token}@{STRANGER}", name=name or "Not named", is_active=False)
    Pseudonym.objects.create(person=person, token=uuid_of(token))
    return person


def add_links(chain: Chain, history: Mapping[str, Any], have: int) -> None:
    """The links beyond the first ``have``, word for word."""
    unlogged = {entry["id"] for entry in history["entries"] if entry["kind"] in NOT_LOGGED}
    links = [
        Link(
            chain=chain,
            **{name: value for name, value in link.items() if name != "entry"},
            entry_id=None if link["entry"] in unlogged else uuid_of(link["entry"]),
        )
        for link in history["links"][have:]
    ]
    Link.objects.bulk_create(links, batch_size=500)


def add_record_entries(vehicle: Vehicle, chain: Chain, history: Mapping[str, Any], have: int) -> None:
    """What former keepers wrote on its record, beyond the first ``have``; keys of rows in it are not ours."""
    new = [entry for entry in history["entries"][have:] if entry["kind"] == RECORD]
    authors = authors_of([entry for entry in new if entry["by"]], history["people"])
    seq = {link["entry"]: link["seq"] for link in history["links"]}
    link = {row.seq: row for row in chain.links.filter(entry=None)}
    RecordEntry.objects.bulk_create(
        (
            _record_entry(facts, vehicle=vehicle, link=link[seq[facts["id"]]], by=authors.get(facts["by"]))
            for facts in new
        ),
        batch_size=500,
    )


def _record_entry(
    facts: Mapping[str, Any], *, vehicle: Vehicle, link: Link, by: Person | None
) -> RecordEntry:
    details = dict(facts["details"])
    opening, basis = details.pop("opening", None), details.pop("basis", None)
    empty = not (facts["note"] or facts["key"] or facts["corrects"] or facts["readings"])
    if not (empty and isinstance(opening, bool) and basis in ("", *Basis.values) and _are_facts(details)):
        raise refused(NO_RECORD)
    return RecordEntry(
        pk=uuid_of(facts["id"]),
        vehicle=vehicle,
        link=link,
        by=by,
        done_at=datetime.fromisoformat(facts["done_at"]),
        recorded_at=datetime.fromisoformat(facts["recorded_at"]),
        facts=details,
        basis=basis,
        opening=opening,
        brought=True,
    )


def _are_facts(details: Mapping[str, Any]) -> bool:
    """Whether each field says what it was and is in plain values, and since which day."""
    return isinstance(details.get(CLOCK_BEHIND, 0), int) and all(
        len(name) <= FIELD_LIMIT
        and isinstance(fact, dict)
        and {"was", "now", "since"} <= fact.keys() <= FACT
        and all(_is_plain(value) for value in fact.values())
        and all(fact[side] is None or _is_day(fact[side]) for side in _days_of(name))
        and all(isinstance(fact.get(label, ""), str) for label in LABELS)
        for name, fact in details.items()
        if name != CLOCK_BEHIND
    )


def _days_of(name: str) -> tuple[str, ...]:
    return ("was", "now", "since") if name.endswith(HOLDING_DAYS) else ("since",)


def _is_plain(value: Any) -> bool:
    if isinstance(value, str):
        return len(value) <= VALUE_LIMIT and "\0" not in value
    return value is None or isinstance(value, int | float)


def _is_day(text: Any) -> bool:
    try:
        return isinstance(text, str) and date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def add_statements(chain: Chain, history: Mapping[str, Any]) -> None:
    """The signed statements that neither we made nor an earlier arrival brought."""
    own = {digest(head.anchor.statement) for head in chain.anchored.select_related("anchor")}
    own |= {digest(row.statement) for row in chain.brought.all()}
    BroughtStatement.objects.bulk_create(
        BroughtStatement(chain=chain, **anchor)
        for anchor in history["anchors"]
        if digest(anchor["statement"]) not in own
    )


def add_witnesses(chain: Chain, history: Mapping[str, Any]) -> None:
    """Stamps over those statements and countersignatures, as far as they do not stand here yet."""
    here = {digest(each) for each in witnesses_of(chain)}
    new = [each for each in history.get("witnesses", []) if digest(each) not in here]
    BroughtStamp.objects.bulk_create(
        BroughtStamp(
            chain=chain,
            statement=each["statement"],
            at=read_stamp(bytes.fromhex(each["response"])).at,
            response=each["response"],
        )
        for each in new
        if each["form"] == STAMP
    )
    for each in new:
        if each["form"] == COUNTERSIGNATURE:
            keep_countersignature(chain, each)
