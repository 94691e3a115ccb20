"""The record of a car as its first entry told it, and the second form of a link, as both were at first."""

import hashlib
import secrets
from datetime import UTC, date

import rfc8785

NOTHING_BEFORE = "0" * 64
EMPTY = (None, "")
CAR = (
    "bay_id",
    "marque",
    "model",
    "year",
    "chassis_number",
    "engine",
    "fuel_system",
    "tank_litres",
    "tank_material",
    "tank_venting",
    "system_volts",
    "regime",
    "stored_since",
    "on_stands",
    "left_on",
)
PARTS = {
    "battery": (
        "Battery",
        "pk",
        (
            "chemistry",
            "capacity_ah",
            "volts",
            "made_on",
            "installed_on",
            "removed_on",
            "isolated",
            "maintainer_since",
            "drain_ma",
            "full_sg",
        ),
    ),
    "fuel": ("Fuel", "", ("grade", "bio_pct", "litres", "filled_on", "stabilised_on", "as_of")),
    "fluid": ("Fluid", "kind", ("type", "changed_on", "glycol_pct")),
    "tyre": ("Tyre", "position", ("date_code", "placard_kpa")),
    "last": ("LastUse", "event", ("on", "basis")),
}


def instant(moment):
    """A moment in UTC with microseconds."""
    return moment.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")


def opening_facts(apps, car, label):
    """Every field of the record that is not empty, since nobody knows when."""
    columns = {"bay" if name == "bay_id" else name: getattr(car, name) for name in CAR}
    for part, (model, key, names) in PARTS.items():
        for row in apps.get_model("collection", model).objects.filter(vehicle=car):
            start = f"{part}.{getattr(row, key)}." if key else f"{part}."
            columns |= {start + name: getattr(row, name) for name in names}
    facts = {
        name: {"was": None, "now": _plain(value), "since": None}
        for name, value in columns.items()
        if value not in EMPTY
    }
    if "bay" in facts:
        facts["bay"]["now_label"] = label
    return facts


def _plain(value):
    return value.isoformat() if isinstance(value, date) else value


def record_facts(entry):
    """An entry of the record that nobody in particular wrote, as it is chained."""
    return {
        "id": str(entry.pk),
        "kind": "record",
        "done_at": instant(entry.done_at),
        "recorded_at": instant(entry.recorded_at),
        "details": {**entry.facts, "opening": entry.opening, "basis": entry.basis},
        "corrects": None,
        "by": "",
        "note": "",
        "key": "",
        "attachments": [],
        "readings": [],
    }


def next_link(chain, entry, *, car, seq, previous):
    """The link that adds an entry to a chain, in the second form."""
    fields = {}
    for name, value in _values(entry).items():
        salt = secrets.token_hex(16)
        fields[name] = {"salt": salt, "digest": _digest([salt, name, value])}
    digests = {name: field["digest"] for name, field in fields.items() if name != "readings"}
    link = {
        "seq": seq,
        "previous": previous,
        "entry": entry["id"],
        "car": {name: getattr(car, name) for name in ("marque", "model", "year", "chassis_number")},
        "written": _digest({"form": 2, "fields": digests}),
        "measured": _digest({"form": 2, "entry": entry["id"], "readings": fields["readings"]["digest"]}),
    }
    return link | {"fields": fields, "digest": _digest({"chain": chain} | link)}


def _values(entry):
    plain = {name: value for name, value in entry.items() if name != "details"}
    return plain | {f"details.{name}": value for name, value in entry["details"].items()}


def _digest(value):
    return hashlib.sha256(rfc8785.dumps(value)).hexdigest()
