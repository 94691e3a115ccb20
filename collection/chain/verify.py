"""The verifier: needs the exported file and nothing else, no database and no network."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

from collection.chain.canonical import NotReadable, canonical, read
from collection.chain.check_anchors import CLOCK_GRACE, check_anchors, first_anchors, recorded_at
from collection.chain.check_files import check_files
from collection.chain.check_identity import check_identity
from collection.chain.check_links import check_links
from collection.chain.check_outside import CERTIFICATE, check_outside, plain_keys
from collection.chain.check_record import check_record
from collection.chain.check_witness import check_witness
from collection.chain.links import Facts
from collection.chain.numbers import LATE_AFTER, entries_of, listed
from collection.chain.shape import HISTORIES, SHAPES, misfits
from collection.chain.signing import fingerprint, is_signed
from collection.chain.statements import STATEMENT
from collection.chain.verdict import Fault, Verdict

MOST_MISFITS = 20
AUTHORS = (
    "Names of authors stand beside the chain, which knows them by pseudonyms: they are the keeper's word."
)


def verify(
    data: bytes,
    *,
    witnesses: Sequence[bytes] = (),
    keys: Sequence[str] = (),
    files: Sequence[tuple[str, bytes]] = (),
) -> Verdict:
    """Everything that is wrong with an exported history.

    ``witnesses`` are statement files or earlier exports that the reader kept; ``keys`` are the
    fingerprints of the keys, and of time-stamp authorities' certificates, that they expect; ``files`` are
    photographs and documents at hand, each with its name. Without these, the file is checked in itself only.
    """
    history, faults = _read(data, HISTORIES)
    if history is None:
        return Verdict(faults)
    faults += [*_signature(history), *check_links(history), *check_anchors(history)]
    faults += check_record(history)
    for number, kept in enumerate(witnesses, 1):
        witness, misread = _read(kept, tuple(SHAPES))
        faults += [Fault("witness", 0, f"Kept file {number}: {fault.text}") for fault in misread]
        faults += check_witness(history, witness) if witness else []
    outside = check_outside(history, keys)
    identity, renamed = check_identity(history)
    right, strange = check_files(history, files)
    faults += [*outside.faults, *identity, *strange, *_keys(history, keys)]
    word = [] if outside.seen else list(_keepers_word(history))
    return Verdict(faults, [*outside.remarks, *right, *word, *_remarks(history), *renamed], history)


def _read(data: bytes, forms: Sequence[str]) -> tuple[Facts | None, list[Fault]]:
    try:
        value = read(data)
        rewritten = canonical(value)
    except (NotReadable, ValueError, RecursionError) as error:
        return None, [Fault("file", 0, f"This is not a history file: {error}.")]
    form = value.get("form") if isinstance(value, dict) else None
    if not isinstance(form, str) or form not in forms:
        return None, [Fault("file", 0, f"This is none of: {', '.join(forms)}.")]
    wrong = list(misfits(value, SHAPES[form]))
    if wrong:
        return None, [Fault("file", _entry_number(at), f"Not as it was written: {at}.") for at in wrong][
            :MOST_MISFITS
        ]
    if rewritten != data:
        text = "The file was saved again by another programme: its bytes are not those that were written."
        return value, [Fault("file", 0, text)]
    return value, []


def _entry_number(path: str) -> int:
    """The number in the chain of the entry or link that a path leads into; both stand in chain order."""
    head, _, rest = path.partition("[")
    return int(rest.partition("]")[0]) + 1 if rest and head in ("entries", "links") else 0


def _signature(history: Facts) -> Iterator[Fault]:
    unsigned = {name: value for name, value in history.items() if name != "signature"}
    if not is_signed(unsigned, key=history["key"], signature=history["signature"]):
        yield Fault("signature", 0, "The file does not bear a right signature: it was changed after export.")


def keys_of(history: Mapping[str, Any]) -> list[str]:
    """Every key that signed something in the file, its own first."""
    signed = [history["key"], *(anchor["statement"]["key"] for anchor in history["anchors"])]
    return list(dict.fromkeys(signed))


def _keys(history: Facts, expected: Sequence[str]) -> Iterator[Fault]:
    known = {key for key in plain_keys(expected) if len(key) != CERTIFICATE}
    for key in keys_of(history) if known else ():
        if fingerprint(key).replace(" ", "") not in known:
            yield Fault("key", 0, f"Signed with the key {fingerprint(key)}, which you did not name.")


def _remarks(history: Facts) -> Iterator[str]:
    yield from _uncovered(history)
    yield from _withheld(history)
    yield from _late(history)
    if history["people"]:
        yield AUTHORS
    times = recorded_at(history)
    turned = [
        later for earlier, later in pairwise(sorted(times)) if times[later] < times[earlier] - CLOCK_GRACE
    ]
    if turned:
        yield f"Chained later than their time of recording says: entries {listed(turned)}."


def _uncovered(history: Facts) -> Iterator[str]:
    first = first_anchors(history)
    bare = [link["seq"] for link in history["links"] if link["seq"] not in first]
    if bare:
        yield f"Newer than the last signed statement, so not yet covered by one: entries {listed(bare)}."


def _keepers_word(history: Facts) -> Iterator[str]:
    """Entries much older, they claim, than the first statement that knew them: as a history typed today."""
    first, times = first_anchors(history), recorded_at(history)
    alone = [
        seq for seq, recorded in times.items() if seq in first and _stated(first[seq]) - recorded > LATE_AFTER
    ]
    if alone:
        day = min(_stated(first[seq]) for seq in alone)
        yield (
            f"Claim to be more than {LATE_AFTER.days} days older than the first signed statement over them: "
            f"{entries_of(sorted(alone))}. Before that statement, the first of {day:%Y-%m-%d}, they are the "
            "keeper's word."
        )


def _stated(anchor: Facts) -> datetime:
    return datetime.fromisoformat(anchor["statement"]["at"])


def _withheld(history: Facts) -> Iterator[str]:
    whole, part = defaultdict(list), defaultdict(list)
    kinds = history.get("withheld", {})
    for link in history["links"]:
        fields = link.get("fields", {})
        left_out = sorted(name for name, field in fields.items() if field["salt"] is None)
        if link["entry"] in kinds:
            whole[kinds[link["entry"]].replace("_", " ")].append(link["seq"])
        elif left_out:
            names = ", ".join(name.removeprefix("details.").replace("_", " ") for name in left_out)
            part[names].append(link["seq"])
    for names, numbers in part.items():
        yield f"Left out of {entries_of(numbers)}, whose digests still hold: {names}."
    for kind, numbers in whole.items():
        yield f"Left out whole, called “{kind}” by the file, its digests still hold: {entries_of(numbers)}."
    if kinds:
        yield "Where the car stands and what it is now is not compared with its entries: some are left out."
    if any(_is_nameless(anchor) for anchor in history["anchors"]):
        yield "The keeper's name is left out of the signed statements, which hold as they are."


def _is_nameless(anchor: Facts) -> bool:
    return "named" in anchor and anchor["statement"]["form"] == STATEMENT and anchor["named"] is None


def _late(history: Facts) -> Iterator[str]:
    place = {link["entry"]: link["seq"] for link in history["links"]}
    late = [place.get(entry["id"], 0) for entry in history["entries"] if _days_late(entry) > LATE_AFTER]
    if late:
        yield f"Written down more than {LATE_AFTER.days} days after it was done: entries {listed(late)}."


def _days_late(entry: Facts) -> timedelta:
    return datetime.fromisoformat(entry["recorded_at"]) - datetime.fromisoformat(entry["done_at"])


def name_of_subject(history: Mapping[str, Any]) -> str:
    """The car with its chassis number, or the site or organisation, that a history is of."""
    car = history["car"]
    if "of" in car:
        return f"Settings of {car['name']} ({car['of'].replace('.', ' ')})"
    named = " ".join(str(car[name]) for name in ("year", "marque", "model") if car[name])
    return f"{named}, chassis {car['chassis_number'] or 'not known'}"
