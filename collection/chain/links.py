"""What a link of the chain holds and how each digest in it is made.

An entry is covered by two digests, of what was written and of what was measured, so that a fault
says which of the two was touched. The link's own digest covers both, its place, the link before it
and which car it was; the author stands in it by a pseudonym only.

In the second form, that of every new link, both digests are made of a digest for each field of the
entry, salted so that nobody can guess what was withheld: a field may be left out of a file, and the
rest still verifies. Links of the first form, made of the entry as a whole, hold for ever.
"""

import secrets
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from collection.chain.canonical import digest

NOTHING_BEFORE = "0" * 64  # the digest before the first
MEASURED = "readings"  # the field that the second digest of a link covers
SALT_BYTES = 16  # policy: nobody tries 2 to the 128 salts

Facts = dict[str, Any]


def instant(moment: datetime) -> str:
    """A moment in UTC with microseconds, always written alike (RFC 3339)."""
    return moment.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")


def car_facts(car: Any) -> Facts:
    """Which car it is: the facts that stay with the metal. Takes any row of vehicles."""
    return {"marque": car.marque, "model": car.model, "year": car.year, "chassis_number": car.chassis_number}


def entry_facts(entry: Any, *, by: str, readings: list[Any], attachments: Sequence[Any] = ()) -> Facts:
    """Everything that an entry says; ``by`` is its author's pseudonym, readings and files in their order."""
    return {
        "id": str(entry.pk),
        "kind": entry.kind,
        "done_at": instant(entry.done_at),
        "recorded_at": instant(entry.recorded_at),
        "by": by,
        "details": entry.details,
        "note": entry.note,
        "corrects": str(entry.corrects_id) if entry.corrects_id else None,
        "key": entry.idempotency_key,
        "attachments": [_attachment_facts(file) for file in attachments],
        "readings": [_reading_facts(reading) for reading in readings],
    }


def saved_facts(entry: Any, *, by: str) -> Facts:
    """What a save tells besides its own facts, in the form of every entry of a chain: when and by whom,
    and nothing where only care has words, files and readings."""
    return {
        "done_at": instant(entry.done_at),
        "recorded_at": instant(entry.recorded_at),
        "by": by,
        "note": "",
        "key": "",
        "attachments": [],
        "readings": [],
    }


def _attachment_facts(file: Any) -> Facts:
    return {name: getattr(file, name) for name in ("name", "type", "size", "digest")}


def _reading_facts(reading: Any) -> Facts:
    names = ("quantity", "value", "position", "temperature_c", "rest_hours")
    return {name: getattr(reading, name) for name in names}


def written_digest(entry: Mapping[str, Any]) -> str:
    """Covers all of an entry but its readings, in the first form."""
    return digest({name: value for name, value in entry.items() if name != "readings"})


def measured_digest(entry: Mapping[str, Any]) -> str:
    """Covers an entry's readings, and whose they are, in the first form."""
    return digest({"entry": entry["id"], "readings": entry["readings"]})


def link_digest(chain: str, link: Mapping[str, Any]) -> str:
    """Covers the whole of a link, its fields by their digests; the next repeats it as its ``previous``."""
    covered = {name: value for name, value in link.items() if name not in ("digest", "fields")}
    return digest({"chain": chain} | covered)


def entry_values(entry: Mapping[str, Any]) -> Facts:
    """What an entry says, field by field: each detail by itself, its files and its readings each as one."""
    plain = {name: value for name, value in entry.items() if name != "details"}
    return plain | {f"details.{name}": value for name, value in entry["details"].items()}


def field_digest(salt: str, name: str, value: Any) -> str:
    """Covers one field; without the salt it gives nothing away."""
    return digest([salt, name, value])


def salted(entry: Mapping[str, Any]) -> dict[str, dict[str, str]]:
    """For each field of an entry a new salt, and the digest made with it."""
    fields = {}
    for name, value in entry_values(entry).items():
        salt = secrets.token_hex(SALT_BYTES)
        fields[name] = {"salt": salt, "digest": field_digest(salt, name, value)}
    return fields


def covering(entry: str, fields: Mapping[str, Mapping[str, Any]]) -> dict[str, str]:
    """The two digests of a link of the second form, over the digests of its entry's fields."""
    digests = {name: field["digest"] for name, field in fields.items()}
    measured = digests.pop(MEASURED, "")
    return {
        "written": digest({"form": 2, "fields": digests}),
        "measured": digest({"form": 2, "entry": entry, "readings": measured}),
    }


def next_link(chain: str, entry: Facts, *, car: Facts, seq: int, previous: str) -> Facts:
    """The link that adds an entry to a chain."""
    fields = salted(entry)
    link = {"seq": seq, "previous": previous, "entry": entry["id"], "car": car}
    link |= {**covering(entry["id"], fields), "fields": fields}
    return link | {"digest": link_digest(chain, link)}
