"""What was written on the record of a car, in plain words and the reader's units."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Field
from django.utils import timezone

from collection.care.core import check_words
from collection.care.queries.record import PARTS
from collection.cars.own_changes import OWN, own_changes
from collection.cars.rule_changes import RULE, rule_changes
from collection.cars.words import format_date
from collection.chain.replay import BAY
from collection.life.core.choices import chemistries, fluid_types, fuel_grades
from collection.models import FluidKind, LastEvent, RecordEntry, TyrePosition, Vehicle
from collection.web.units import Edge

OPENED = "written down as it stood; since when it is so was not noted then"
UNITS = {"tank_litres": "litres", "litres": "litres", "placard_kpa": "kPa"}
# by a column, its words where those of its table do not serve
LABELS = {
    "marque": "make",
    "on_stands": "on stands",
    "left_on": "left storage on",
    "basis": "how it is known",
    "assumed": "assumed from its kind",
    "photograph": "photograph shown",
}


@dataclass(frozen=True)
class RecordLine:
    """One save of the record: when it was written down, by whom, what changed, how it is known.

    Each change is a clause that follows "Record:".
    """

    day: date
    by: str
    changes: tuple[str, ...]
    basis: str
    code: str  # of the basis, "" where nobody said


def record_lines(vehicle: Vehicle, edge: Edge, *, places: bool = True) -> list[RecordLine]:
    """Every save of a car's record, oldest first; without ``places`` no bay is named."""
    entries = vehicle.record_entries.select_related("by").order_by("link__seq")
    lines = (_line(entry, edge, places) for entry in entries)
    return [line for line in lines if line.changes]


def _line(entry: RecordEntry, edge: Edge, places: bool) -> RecordLine:
    changes = (OPENED,) if entry.opening else tuple(_changes(entry.facts, edge, places))
    day = timezone.localtime(entry.recorded_at).date()
    by = str(entry.by) if entry.by else "the upgrade of this programme"
    return RecordLine(day, by, changes, entry.get_basis_display(), entry.basis)


def _changes(facts: Mapping[str, Any], edge: Edge, places: bool) -> Iterator[str]:
    for name, fact in facts.items():
        if not isinstance(fact, dict) or name.startswith((RULE, OWN)):
            continue
        if name == BAY and not places:
            yield f"bay changed{_since(fact)}"
            continue
        was, now = (_format_value(name, fact, side, edge) for side in ("was", "now"))
        yield f"{_label(name)} {_became(was, now, corrected='corrects' in fact)}{_since(fact)}"
    yield from rule_changes(facts)
    yield from own_changes(facts)


def _became(was: str, now: str, *, corrected: bool) -> str:
    verb = "corrected" if corrected else "changed"
    if not was:
        return f"written down: {now}"
    return f"{verb} from {was} to {now}" if now else f"no longer {was}"


def _since(fact: Mapping[str, Any]) -> str:
    return f", since {format_date(date.fromisoformat(fact['since']))}" if fact["since"] else ""


def _label(name: str) -> str:
    part, _, column = name.rpartition(".")
    kind, _, which = part.partition(".")
    words = LABELS.get(column) or str(getattr(_field(kind, column), "verbose_name", column.replace("_", " ")))
    words = words.partition(",")[0]  # a value names its unit itself
    owner = _which(kind, which)
    return f"{owner}: {words}" if owner else words


def _which(kind: str, which: str) -> str:
    titles: dict[str, Mapping[str, str]] = {
        "fluid": {key: title.lower() for key, title in FluidKind.choices},
        "tyre": {key: f"{title.lower()} tyre" for key, title in TyrePosition.choices},
        "last": {key: f"last {title.lower()}" for key, title in LastEvent.choices},
        "put_away": {"": "put away"},
        "handbook": {key: f"handbook, {words}" for key, words in check_words().items()},
    }
    return titles.get(kind, {}).get(which, kind)


def _field(kind: str, column: str) -> "Field[Any, Any] | None":
    model = PARTS[kind][0] if kind in PARTS else Vehicle
    return next((each for each in model._meta.concrete_fields if each.name == column), None)


def _format_value(name: str, fact: Mapping[str, Any], side: str, edge: Edge) -> str:
    """A value in words; empty where there is none."""
    value = fact[side]
    if value is None:
        return ""
    part, _, column = name.rpartition(".")
    kind, _, which = part.partition(".")
    field = _field(kind, column)
    choices = (
        dict(field.flatchoices) if field is not None and field.choices else _choices(kind, which, column)
    )
    if name == BAY:
        return str(fact.get(f"{side}_label") or "a bay that is not ours")
    if column == "assumed":
        return ", ".join(_label(name) for name in value.split())
    if column == "photograph":
        return "one of its log"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if column in UNITS and isinstance(value, int | float):
        return edge.unit(UNITS[column]).format(value)
    return str(choices.get(value) or _day(value) or value).partition(":")[0]  # of a choice, its first words


def _choices(kind: str, which: str, column: str) -> dict[Any, str]:
    if column == "chemistry":
        return dict(chemistries())
    if column == "grade":
        return dict(fuel_grades())
    return dict(fluid_types(which)) if (kind, column) == ("fluid", "type") else {}


def _day(value: Any) -> str:
    try:
        return format_date(date.fromisoformat(value)) if isinstance(value, str) and len(value) == 10 else ""
    except ValueError:
        return ""
