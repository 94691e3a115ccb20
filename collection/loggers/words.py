"""What was found in a logger's file, as the page tells it."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils import timezone

from collection.loggers.actions.entries import PARTS, drafts_of
from collection.loggers.reading.layout import DELIMITERS, NONE, ORDERS, ROLES, UNITS, ZONES, Layout
from collection.models import LoggerFile
from scheduler.vocabulary.care import KIND

MINUTE, HOUR, DAY = 60.0, 3600.0, 86400.0
SHOWN = 50


@dataclass(frozen=True)
class Span:
    """From when to when, and how long."""

    begin: datetime
    end: datetime
    length: str


@dataclass(frozen=True)
class Summary:
    """The facts of a file in words."""

    facts: list[tuple[str, str]]
    notes: list[str]
    faults: list[dict[str, Any]]
    gaps: list[Span]
    gap_count: int
    gap_length: str
    stuck: list[Span]
    readings: list[dict[str, Any]]
    charges: list[dict[str, Any]]
    falls: list[Span]


def summarise(file: LoggerFile) -> Summary | None:
    """What was understood; nothing before the file was read, nor of a sensor, which sends no file."""
    facts = file.understood
    if not facts or file.sensor_id:
        return None
    gaps = [_span(begin, end) for begin, end in facts["gaps"]]
    proposals = facts.get("proposals") or {"readings": [], "charges": [], "falls": []}
    return Summary(
        facts=[*_facts(file, Layout.from_json(file.layout))],
        notes=facts["notes"],
        faults=facts["faults"],
        gaps=sorted(gaps, key=lambda gap: gap.begin - gap.end)[:SHOWN],
        gap_count=facts["gap_count"],
        gap_length=length(facts["gap_s"]),
        stuck=[_span(begin, end) for begin, end in facts["stuck"]],
        readings=[row | {"at": datetime.fromisoformat(row["at"])} for row in proposals["readings"]],
        charges=[row | {"span": _span(row["begin"], row["end"])} for row in proposals["charges"]],
        falls=[_span(row["from"], row["to"]) for row in proposals["falls"]],
    )


def _facts(file: LoggerFile, layout: Layout) -> list[tuple[str, str]]:
    facts = file.understood
    first, last = (timezone.localtime(datetime.fromisoformat(facts[key])) for key in ("first", "last"))
    step = facts["step_s"]
    columns = [
        f"{role.replace('_', ' ')}: “{layout.names[getattr(layout, role)]}”"
        for role in ROLES
        if getattr(layout, role) != NONE
    ]
    zone = ZONES.get(layout.zone, f"UTC{layout.zone}, all year")
    return [
        ("From", f"{first:%a %-d %b %Y, %H:%M}"),
        ("To", f"{last:%a %-d %b %Y, %H:%M}"),
        ("Rows", f"{facts['rows']:,}, of which {facts['kept']:,} are moments with a figure"),
        ("Usual time between rows", length(step) if step else "one row only"),
        ("Dates", f"{ORDERS[layout.order].lower()}{' (not yet certain)' if layout.undecided else ''}"),
        ("Clock", f"{zone[0].lower()}{zone[1:]}" if not zone.startswith("UTC") else zone),
        ("Columns", "; ".join(columns)),
        ("Temperatures", UNITS[layout.unit] if layout.temperature != NONE else "none"),
        ("Written with", f"{DELIMITERS[layout.delimiter].lower()}s between columns, {layout.encoding}"),
        ("SHA-256", file.digest),
    ]


def _span(begin: str, end: str) -> Span:
    first, last = datetime.fromisoformat(begin), datetime.fromisoformat(end)
    return Span(first, last, length((last - first).total_seconds()))


def length(seconds: float) -> str:
    """A length of time in its two largest units."""
    if seconds < MINUTE:
        return f"{seconds:g} s"
    if seconds < HOUR:
        return f"{seconds / MINUTE:.0f} min"
    if seconds < DAY:
        return f"{seconds // HOUR:.0f} h {seconds % HOUR // MINUTE:.0f} min".replace(" 0 min", "")
    return f"{seconds // DAY:.0f} d {seconds % DAY // HOUR:.0f} h".replace(" 0 h", "")


def counts_of(file: LoggerFile, now: datetime) -> dict[str, int]:
    """How many entries each part of the file would make now."""
    counts = dict.fromkeys(PARTS, 0)
    for draft in drafts_of(file, PARTS, now):
        counts[KIND[draft.kind].from_logger] += 1
    return counts
