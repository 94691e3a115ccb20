"""What was decided of a car's duties, from an entry of its record: clauses that follow "Record:"."""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from collection.cars.words import format_date
from scheduler.vocabulary.duties import DUTY
from scheduler.vocabulary.intervals import NEVER

RULE = "rule."


def rule_changes(facts: Mapping[str, Any]) -> Iterator[str]:
    """A clause for each duty of which something was decided: from which day, what, and why."""
    for duty, changed in grouped(facts, RULE).items():
        title = DUTY[duty].title.lower() if duty in DUTY else duty.replace("_", " ")
        since = next(iter(changed.values())).get("since")
        start = f"from {format_date(date.fromisoformat(since))} " if since else ""
        yield f"{start}{title} {'; '.join(_clauses(changed))}"


def _clauses(changed: Mapping[str, Any]) -> Iterator[str]:
    interval, reason = changed.get("interval"), _now(changed, "reason")
    first, waits = changed.get("not_before"), changed.get("put_off_until")
    decided = []
    if interval:
        decided.append(_interval(interval["now"]))
    if first:
        decided.append(f"not before {_day(first['now'])}" if first["now"] else "on any day again")
    if decided:
        yield ", ".join(decided) + (f" ({reason})" if reason else "")
    elif "reason" in changed:
        yield f"by another reason: {reason}" if reason else "without its reason"
    if waits or "put_off_reason" in changed:
        yield _put_off(waits, _now(changed, "put_off_reason"))


def _interval(value: str | None) -> str:
    if not value:
        return "as worked out again"
    return "not for this car" if value == NEVER else f"every {value}"


def _put_off(waits: Mapping[str, Any] | None, reason: str) -> str:
    why = f" ({reason})" if reason else ""
    if waits is None:
        return f"put off for another reason{why}"
    return f"put off until {_day(waits['now'])}{why}" if waits["now"] else "put off no longer"


def _now(changed: Mapping[str, Any], column: str) -> str:
    return str((changed.get(column) or {}).get("now") or "")


def _day(value: Any) -> str:
    return format_date(date.fromisoformat(value)) if isinstance(value, str) else ""


def grouped(facts: Mapping[str, Any], part: str) -> dict[str, dict[str, Any]]:
    """The facts of one part of the record: by which of several, then by column."""
    by_name: dict[str, dict[str, Any]] = {}
    for name, fact in facts.items():
        if isinstance(fact, dict) and name.startswith(part) and name.count(".") == 2:
            _, which, column = name.split(".")
            by_name.setdefault(which, {})[column] = fact
    return by_name
