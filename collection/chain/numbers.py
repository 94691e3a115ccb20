"""Numbers of entries in words, and after how long something is late."""

from collections.abc import Iterable, Sequence
from datetime import timedelta

LATE_AFTER = timedelta(days=7)  # policy: a paper sheet is typed up within a week


def entries_of(numbers: Sequence[int]) -> str:
    """Entry 3; entries 1 to 4, 7."""
    return f"entry {numbers[0]}" if len(numbers) == 1 else f"entries {listed(numbers)}"


def listed(numbers: Iterable[int]) -> str:
    """1 to 4, 7, 9 to 12."""
    spans: list[list[int]] = []
    for number in sorted(numbers):
        if spans and number == spans[-1][1] + 1:
            spans[-1][1] = number
        else:
            spans.append([number, number])
    return ", ".join(f"{a} to {b}" if b > a else str(a) for a, b in spans)
