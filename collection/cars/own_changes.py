"""What was written of the duties that keepers added, from an entry of the record, in clauses."""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from collection.cars.rule_changes import grouped
from collection.cars.words import format_date

OWN = "own."


def own_changes(facts: Mapping[str, Any]) -> Iterator[str]:
    """A clause for each that was added, changed or ended; it follows "Record:"."""
    for changed in grouped(facts, OWN).values():
        title = changed.get("title")
        changes = "; ".join(filter(None, (_clause(column, fact) for column, fact in changed.items())))
        if title and not title["was"]:
            yield f"{title['now']} added" + (f": {changes}" if changes else "")
        elif title:
            yield f"{title['was']} is now called {title['now']}" + (f": {changes}" if changes else "")
        else:
            yield f"an own duty: {changes or 'another kind'}"


def _clause(column: str, fact: Mapping[str, Any]) -> str:
    now = fact["now"]
    match column:
        case "due_on":
            return f"due on {_day(now)}" if now else "no day is set"
        case "interval":
            return f"again every {now}" if now else "once"
        case "minutes":
            return f"{now} minutes at the car" if now else "no work at the car"
        case "remind_days":
            return f"{now} days of warning" if now else "no warning"
        case "ended_on":
            return f"not asked for since {_day(now)}" if now else "asked for again"
    return ""


def _day(value: Any) -> str:
    return format_date(date.fromisoformat(value)) if isinstance(value, str) else ""
