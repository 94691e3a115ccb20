"""What was set for organisations and sites, and evidence of cars, as each was first written down."""

import hashlib
import secrets
from collections import defaultdict

import rfc8785

from collection.migrations.frozen.opening import instant

EMPTY = (None, "")
SITE = ("name", "time_zone", "coldest_yard_c")
BUILDING = ("name", "shelter", "walk_order", "heated_to_c", "humidity_ceiling_pct")
MONTH = ("mean_c", "min_c", "max_c", "humidity_pct")
EVIDENCE = ("kind", "odometer_km", "code", "count", "event", "answers", "hard", "withdrawn", "grade")


def opening_settings(values):
    """Every value that is not empty, since nobody knows when."""
    return {
        name: {"was": None, "now": value, "since": None} for name, value in values if value not in EMPTY
    }


def of_organisation(apps, organisation):
    """What an organisation has set: money, limits, prices."""
    yield "money", organisation.money
    for row in apps.get_model("collection", "Threshold").objects.filter(organisation=organisation):
        yield f"threshold.{row.name}.value", row.value
        yield f"threshold.{row.name}.reason", row.reason
    for row in apps.get_model("collection", "Rate").objects.filter(organisation=organisation):
        yield f"price.{row.name}", row.value


def of_site(apps, site):
    """A site with its climate, its buildings and its bays."""
    measured = apps.get_model("collection", "MeasuredClimate")
    yield from ((name, getattr(site, name)) for name in SITE)
    yield from _of_climate(apps, "climate", site.climate, measured.objects.filter(site=site).first())
    for building in apps.get_model("collection", "Building").objects.filter(site=site).order_by("pk"):
        start = f"building.{building.pk}"
        yield from ((f"{start}.{name}", getattr(building, name)) for name in BUILDING)
        inside = measured.objects.filter(building=building).first()
        if inside:
            yield from _of_climate(apps, f"{start}.air", inside.climate, inside)
    yield from _of_bays(apps, site)


def _of_climate(apps, start, climate, measured):
    yield f"{start}.name", climate.name
    yield f"{start}.basis", climate.basis
    yield f"{start}.files", measured.series if measured and measured.climate_id == climate.pk else ""
    for row in apps.get_model("collection", "ClimateMonth").objects.filter(climate=climate):
        yield f"{start}.{row.month}", " ".join(repr(float(getattr(row, name))) for name in MONTH)


def _of_bays(apps, site):
    bay = apps.get_model("collection", "Bay")
    behind = defaultdict(list)
    links = bay.blocked_by.through.objects.filter(from_bay__building__site=site)
    for one, other in links.values_list("from_bay", "to_bay"):
        behind[one].append(other)
    for row in bay.objects.filter(building__site=site):
        yield f"bay.{row.pk}.building", row.building_id
        yield f"bay.{row.pk}.row", row.row
        yield f"bay.{row.pk}.place", row.place
        yield f"bay.{row.pk}.power_outlet", row.power_outlet or None
        yield f"bay.{row.pk}.exhaust_extraction", row.exhaust_extraction or None
        yield f"bay.{row.pk}.behind", " ".join(map(str, sorted(behind[row.pk])))


def setting_facts(entry):
    """An entry of what is set that nobody in particular wrote, as it is chained."""
    return {
        "id": str(entry.pk),
        "kind": "record",
        "done_at": instant(entry.done_at),
        "recorded_at": instant(entry.recorded_at),
        "details": {**entry.facts, "opening": True},
        "corrects": None,
        "by": "",
        "note": "",
        "key": "",
        "attachments": [],
        "readings": [],
    }


def evidence_facts(row, *, by):
    """Evidence from before it stood in a chain, as it is chained now."""
    told = {name: day.isoformat() for name, day in (("on", row.on), ("until", row.until)) if day}
    told |= {name: getattr(row, name) for name in EVIDENCE if getattr(row, name) not in (None, "", [])}
    return {
        "id": str(row.pk),
        "kind": "evidence",
        "done_at": instant(row.recorded_at),
        "recorded_at": instant(row.chained_at),
        "by": by,
        "details": told,
        "note": row.note,
        "corrects": str(row.corrects_id) if row.corrects_id else None,
        "key": row.idempotency_key,
        "attachments": [],
        "readings": [],
    }


def next_link(chain, entry, *, of, seq, previous):
    """The link that adds an entry to a chain; ``of`` says which car or which settings it is."""
    fields = {}
    plain = {name: value for name, value in entry.items() if name != "details"}
    for name, value in (plain | {f"details.{name}": it for name, it in entry["details"].items()}).items():
        salt = secrets.token_hex(16)
        fields[name] = {"salt": salt, "digest": _digest([salt, name, value])}
    digests = {name: field["digest"] for name, field in fields.items() if name != "readings"}
    link = {
        "seq": seq,
        "previous": previous,
        "entry": entry["id"],
        "car": of,
        "written": _digest({"form": 2, "fields": digests}),
        "measured": _digest({"form": 2, "entry": entry["id"], "readings": fields["readings"]["digest"]}),
    }
    return link | {"fields": fields, "digest": _digest({"chain": chain} | link)}


def _digest(value):
    return hashlib.sha256(rfc8785.dumps(value)).hexdigest()
