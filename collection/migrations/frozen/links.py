"""A link of the chain and its digests, as they were when the first entries were chained."""

import hashlib
from datetime import UTC

import rfc8785

NOTHING_BEFORE = "0" * 64  # the digest before the first


def instant(moment):
    """A moment in UTC with microseconds."""
    return moment.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")


def car_facts(car):
    """Which car it is."""
    return {"marque": car.marque, "model": car.model, "year": car.year, "chassis_number": car.chassis_number}


def entry_facts(entry, *, by, readings):
    """Everything that an entry said before there were attachments in the record."""
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
        "attachments": [],
        "readings": [_reading_facts(reading) for reading in readings],
    }


def _reading_facts(reading):
    names = ("quantity", "value", "position", "temperature_c", "rest_hours")
    return {name: getattr(reading, name) for name in names}


def _digest(value):
    return hashlib.sha256(rfc8785.dumps(value)).hexdigest()


def next_link(chain, entry, *, car, seq, previous):
    """The link that adds an entry to a chain."""
    link = {
        "seq": seq,
        "previous": previous,
        "entry": entry["id"],
        "car": car,
        "written": _digest({name: value for name, value in entry.items() if name != "readings"}),
        "measured": _digest({"entry": entry["id"], "readings": entry["readings"]}),
    }
    return link | {"digest": _digest({"chain": chain} | link)}
