"""What a care log entry says, as label and value in the reader's own units."""

from collections.abc import Iterator
from datetime import datetime

from django import template

from collection.care import core as recommissioning
from collection.care.queries.clock import CLOCK_BEHIND
from collection.care.rules import DETAILS
from collection.life.core.choices import fluid_types, fuel_grades
from collection.life.duties import DUTY_TITLES
from collection.models import CareKind, Entry, FluidKind, Reading
from collection.models.care import CLAIM_SKEW
from collection.web.units import Edge, edge
from scheduler.vocabulary.details import Choice, Detail, Flag, Number
from scheduler.vocabulary.duties import DUTY
from scheduler.vocabulary.own_duties import is_own
from scheduler.vocabulary.quantities import QUANTITY

register = template.Library()

Fact = tuple[str, str]

# Words of details that are codes of the core's tables or of rows of ours.
WORDS: dict[str, dict[str, str]] = {
    "duty": DUTY_TITLES,
    "system": recommissioning.systems(),
    "check": recommissioning.check_words(),
    "hazard": recommissioning.hazards(),
    "grade": dict(fuel_grades()),
    "type": {code: words for kind in FluidKind.values for code, words in fluid_types(kind)},
}
MINUTE, HOUR, DAY = 60, 3600, 86_400  # seconds
SILENT = (
    "to_bay",
    "from_bay",
    "opened",
    "ok",
    "answers",
    "unit",
    "own",
)  # keys of rows, or said by other facts


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
    if behind := entry.details.get(CLOCK_BEHIND):
        yield "Time of recording", f"this machine's clock stood {_span(abs(behind))} behind the record"
    if entry.kind == CareKind.FAULT_TEST:
        yield from recommissioning.test_words(entry.details)
        return
    for key, rule in DETAILS[entry.kind].items():
        value = entry.details.get(key)
        if value is not None and key not in SILENT:
            text = _format_detail(key, rule, value, reader)
            yield rule.label, f"{text} {entry.details.get('unit', '')}".rstrip() if key == "value" else text


def _span(seconds: int) -> str:
    """A difference of clocks in words."""
    for size, word in ((DAY, "day"), (HOUR, "hour"), (MINUTE, "minute")):
        if seconds >= size:
            count = round(seconds / size)
            return f"{count} {word}" if count == 1 else f"{count} {word}s"
    return f"{seconds} seconds"


def _format_detail(key: str, rule: Detail, value: object, reader: Edge) -> str:
    match rule:
        case Number():
            return reader.unit(rule.unit).format(float(str(value)))
        case Flag():
            return "yes" if value else "no"
        case Choice():
            return dict(rule.choices).get(str(value), str(value))
    if isinstance(value, list):
        return ", ".join(str(word) for word in value)
    if key == "duty" and is_own(str(value)):
        return DUTY[str(value)].title
    return WORDS.get(key, {}).get(str(value), str(value))


def _reading(row: Reading, reader: Edge) -> Fact:
    quantity = QUANTITY[row.quantity]
    titles = {position.code: position.title.lower() for position in quantity.positions}
    along = [reader.unit(quantity.unit, quantity.read_in).format(row.value)]
    if row.temperature_c is not None:
        along.append(f"at {reader.unit('°C').format(row.temperature_c, '.3g')}")
    if row.rest_hours is not None:
        along.append(f"rested {row.rest_hours:g} h")
    where = f", {titles.get(row.position, row.position)}" if row.position else ""
    return f"{quantity.title}{where}", ", ".join(along)


@register.filter
def late_recorded(entry: Entry) -> datetime | None:
    """When it was written down, if that was not within the hour of the doing."""
    delay = entry.recorded_at - entry.done_at
    return entry.recorded_at if delay.total_seconds() > HOUR else None
