"""The verifier: needs the exported file and nothing else, no database and no network."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

from collection.chain.canonical import NotReadable, canonical, read
from collection.chain.check_anchors import CLOCK_GRACE, check_anchors, first_anchors, recorded_at
from collection.chain.check_links import check_links
from collection.chain.check_record import check_record
from collection.chain.check_witness import check_witness
from collection.chain.links import Facts
from collection.chain.shape import HISTORIES, SHAPES, misfits
from collection.chain.signing import fingerprint, is_signed
from collection.chain.statements import STATEMENT
from collection.chain.verdict import Fault, Verdict

LATE_AFTER = timedelta(days=7)  # policy: a paper sheet is typed up within a week
MOST_MISFITS = 20


def verify(data: bytes, *, witnesses: Sequence[bytes] = (), keys: Sequence[str] = ()) -> Verdict:
    """Everything that is wrong with an exported history.

    ``witnesses`` are statement files or earlier exports that the reader kept; ``keys`` are the
    fingerprints of the keys that they expect. Without these, the file is checked in itself only.
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
    faults += _keys(history, keys)
    return Verdict(faults, list(_remarks(history)), history)


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
    known = {"".join(key.split()).lower() for key in expected}
    for key in keys_of(history) if known else ():
        if fingerprint(key).replace(" ", "") not in known:
            yield Fault("key", 0, f"Signed with the key {fingerprint(key)}, which you did not name.")


def _remarks(history: Facts) -> Iterator[str]:
    yield from _uncovered(history)
    yield from _keepers_word(history)
    yield from _withheld(history)
    yield from _late(history)
    yield from _another_car(history)
    times = recorded_at(history)
    turned = [
        later for earlier, later in pairwise(sorted(times)) if times[later] < times[earlier] - CLOCK_GRACE
    ]
    if turned:
        yield f"Chained later than their time of recording says: entries {_list(turned)}."


def _uncovered(history: Facts) -> Iterator[str]:
    first = first_anchors(history)
    bare = [link["seq"] for link in history["links"] if link["seq"] not in first]
    if bare:
        yield f"Newer than the last signed statement, so not yet covered by one: entries {_list(bare)}."


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
            f"{_entries(sorted(alone))}. Before that statement, the first of {day:%Y-%m-%d}, they are the "
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
        yield f"Left out of {_entries(numbers)}, whose digests still hold: {names}."
    for kind, numbers in whole.items():
        yield f"Left out whole, called “{kind}” by the file, its digests still hold: {_entries(numbers)}."
    if kinds:
        yield "Where the car stands and what it is now is not compared with its entries: some are left out."
    if any(_is_nameless(anchor) for anchor in history["anchors"]):
        yield "The keeper's name is left out of the signed statements, which hold as they are."


def _is_nameless(anchor: Facts) -> bool:
    return "named" in anchor and anchor["statement"]["form"] == STATEMENT and anchor["named"] is None


def _entries(numbers: list[int]) -> str:
    return f"entry {numbers[0]}" if len(numbers) == 1 else f"entries {_list(numbers)}"


def _late(history: Facts) -> Iterator[str]:
    place = {link["entry"]: link["seq"] for link in history["links"]}
    late = [place.get(entry["id"], 0) for entry in history["entries"] if _days_late(entry) > LATE_AFTER]
    if late:
        yield f"Written down more than {LATE_AFTER.days} days after it was done: entries {_list(late)}."


def _days_late(entry: Facts) -> timedelta:
    return datetime.fromisoformat(entry["recorded_at"]) - datetime.fromisoformat(entry["done_at"])


def name_of_subject(history: Mapping[str, Any]) -> str:
    """The car with its chassis number, or the site or organisation, that a history is of."""
    car = history["car"]
    if "of" in car:
        return f"Settings of {car['name']} ({car['of'].replace('.', ' ')})"
    named = " ".join(str(car[name]) for name in ("year", "marque", "model") if car[name])
    return f"{named}, chassis {car['chassis_number'] or 'not known'}"


def _another_car(history: Facts) -> Iterator[str]:
    for before, after in pairwise([*history["links"], {"seq": 0, "car": history["car"]}]):
        if before["car"] != after["car"]:
            where = f"at entry {after['seq']}" if after["seq"] else "since the last entry"
            changed = ", ".join(_changes(before["car"], after["car"]))
            yield f"What the record calls it changed {where}: {changed}."


def _changes(before: Facts, after: Facts) -> Iterator[str]:
    for name in before:
        if before[name] != after[name]:
            values: list[Any] = [
                value if value not in ("", None) else "nothing" for value in (before[name], after[name])
            ]
            yield f"{name.replace('_', ' ')} from {values[0]} to {values[1]}"


def _list(numbers: list[int]) -> str:
    """1 to 4, 7, 9 to 12."""
    spans: list[list[int]] = []
    for number in sorted(numbers):
        if spans and number == spans[-1][1] + 1:
            spans[-1][1] = number
        else:
            spans.append([number, number])
    return ", ".join(f"{a} to {b}" if b > a else str(a) for a, b in spans)
