"""What a care log entry says, as label and value in the reader's own units."""

from collections.abc import Iterator
from datetime import datetime

from django import template

from collection.actions.care_rules import DETAILS, TAGS, Choice, Flag, Number, Rule
from collection.bridge.waking import choices as waking
from collection.forms.care.fields import MILLIAMPERES, shown
from collection.models import CareKind, Entry, FluidKind, Quantity, Reading, TyrePosition
from collection.models.care import CLAIM_SKEW
from collection.queries.duties import DUTY_TITLES
from collection.units import Edge, edge

register = template.Library()

Fact = tuple[str, str]

WORDS: dict[str, dict[str, str]] = {
    "state": {"on": "on", "off": "off", "lost_power": "found without power"},
    "fluid": dict(FluidKind.choices),
    "tag": TAGS,
    "duty": DUTY_TITLES,
    "system": {"cooling": "Cooling"} | dict(waking.part_systems()) | waking.systems(),
    "seen": {key: words.lower() for key, words in waking.SEEN.items()},
    "check": waking.check_words(),
    "hazard": waking.hazards(),
}
MINUTE, HOUR, DAY = 60, 3600, 86_400  # seconds
SILENT = ("to_bay", "from_bay", "opened", "ok", "answers", "unit")  # keys of rows, or said by other facts


@register.filter
def facts(entry: Entry, units: str) -> list[Fact]:
    """The entry's details, then its readings; entries must come with their readings."""
    reader = edge(units)
    return [*_details(entry, reader), *(_reading(row, reader) for row in entry.readings.all())]


def _details(entry: Entry, reader: Edge) -> Iterator[Fact]:
    if entry.details.get("ok"):
        yield "Found", "nothing wrong"
    if entry.details.get("from_bay_label") and not entry.details.get("wheels_only"):
        yield "From", entry.details["from_bay_label"]
    if skew := entry.details.get(CLAIM_SKEW):
        yield "Time as claimed", f"by a clock that ran {_span(abs(skew))} {'ahead' if skew > 0 else 'behind'}"
    if entry.kind == CareKind.FAULT_TEST:
        yield from waking.test_words(entry.details)
        return
    for key, rule in DETAILS[entry.kind].items():
        value = entry.details.get(key)
        if value is not None and key not in SILENT:
            said = _said(key, rule, value, reader)
            yield rule.label, f"{said} {entry.details.get('unit', '')}".rstrip() if key == "value" else said


def _span(seconds: int) -> str:
    """A difference of clocks in words."""
    for size, word in ((DAY, "day"), (HOUR, "hour"), (MINUTE, "minute")):
        if seconds >= size:
            count = round(seconds / size)
            return f"{count} {word}" if count == 1 else f"{count} {word}s"
    return f"{seconds} seconds"


def _said(key: str, rule: Rule, value: object, reader: Edge) -> str:
    match rule:
        case Number():
            as_read = shown(rule.unit, reader)
            return f"{as_read.from_si(float(str(value))):.4g} {as_read.unit}".rstrip()
        case Flag():
            return "yes" if value else "no"
        case Choice():
            return WORDS[key][str(value)]
    if isinstance(value, list):
        return ", ".join(str(word) for word in value)
    return WORDS.get(key, {}).get(str(value), str(value))


def _reading(row: Reading, reader: Edge) -> Fact:
    quantity, _, unit = row.get_quantity_display().partition(", ")
    drain = row.quantity == Quantity.KEY_OFF_DRAIN
    as_read = MILLIAMPERES if drain else shown("V" if quantity.endswith("volts") else unit, reader)
    value = f"{as_read.from_si(row.value):.4g} {as_read.unit}".rstrip()
    where = dict(TyrePosition.choices).get(row.position, f"cell {row.position}" if row.position else "")
    label = f"{quantity}, {where.lower()}" if where else quantity
    along = []
    if row.temperature_c is not None:
        temperature = shown("°C", reader)
        along.append(f"at {temperature.from_si(row.temperature_c):.3g} {temperature.unit}")
    if row.rest_hours is not None:
        along.append(f"rested {row.rest_hours:g} h")
    return label, ", ".join([value, *along])


@register.filter
def late_recorded(entry: Entry) -> datetime | None:
    """When it was written down, if that was not within the hour of the doing."""
    delay = entry.recorded_at - entry.done_at
    return entry.recorded_at if delay.total_seconds() > HOUR else None
