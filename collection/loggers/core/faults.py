"""What is wrong with a file's rows, each in a sentence that says how many, where first, and what was done."""

from collections.abc import Iterator, Sequence
from typing import Any

from collection.loggers.reading.read import Table
from scheduler.loggers.clean import Cleaned, Fault

QUANTITY = {
    "temperature": ("temperatures", "°C"),
    "humidity": ("humidities", "%"),
    "volts": ("volts", "V"),
    "dew_point": ("dew points", "°C"),
}


def faults_of(
    table: Table, cleaned: Cleaned, limits: dict[str, tuple[float, float]], duplicates: str, *, reverse: bool
) -> list[dict[str, Any]]:
    """Every kind of fault found: {"words", "count", "line"}."""
    return [*_as_written(table), *_in_time(table, cleaned, limits, duplicates, reverse=reverse)]


def _fault(count: int, line: int, words: str) -> dict[str, Any]:
    return {"count": count, "line": line, "words": words}


def _as_written(table: Table) -> Iterator[dict[str, Any]]:
    for name, bad in table.bad.items():
        sample = f"“{bad.sample}” in line {bad.line}"
        what, _, role = name.partition("_")
        named = QUANTITY.get(role, ("figures", ""))[0]
        words = {
            "stamp": f"rows have no date and time that can be read, first {sample}: they are left out.",
            "unset": f"rows are dated in the future or more than 30 years back, first {sample}: the logger's "
            "clock was not set; they are left out.",
            "words": f"{named} are words, first {sample}: they are taken as missing.",
            "codes": f"{named} are codes for an error, first {sample}: they are taken as missing.",
        }[what]
        yield _fault(bad.count, bad.line, words)


def _in_time(
    table: Table, cleaned: Cleaned, limits: dict[str, tuple[float, float]], duplicates: str, *, reverse: bool
) -> Iterator[dict[str, Any]]:
    def line(fault: Fault) -> int:
        return table.start + 1 + (table.rows - 1 - fault.first if reverse else fault.first)

    for fault, (role, (low, high)) in zip(cleaned.outside, limits.items(), strict=True):
        if fault.count:
            named, unit = QUANTITY[role]
            words = (
                f"{named} lie outside {low:g} to {high:g} {unit}, which no sensor means: taken as missing."
            )
            yield _fault(fault.count, line(fault), words)
    done = "their mean is taken" if duplicates == "mean" else "the first is taken"
    faults: Sequence[tuple[Fault, str]] = (
        (cleaned.backwards, "times the clock steps back: the rows are put in order of time."),
        (cleaned.repeated, "rows tell the same moment with the same figures again: they count once."),
        (cleaned.differing, f"rows tell a moment again with other figures: {done}."),
    )
    for fault, words in faults:
        if fault.count:
            yield _fault(fault.count, line(fault), words)
