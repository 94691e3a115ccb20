"""What an inspection's words say of the systems: the words of keepers, read for a few plain signs."""

from collections.abc import Sequence
from datetime import date

from scheduler.condition.outlook import Finding, Seen

# Words that name trouble, and the system that they point at (common practice).
SIGNS: tuple[tuple[str, str], ...] = (
    ("mouse", "wiring"),
    ("mice", "wiring"),
    ("rat ", "wiring"),
    ("rodent", "wiring"),
    ("nest", "wiring"),
    ("droppings", "wiring"),
    ("gnaw", "wiring"),
    ("mould", "trim"),
    ("moth", "trim"),
    ("drip", "oil_seals"),
    ("oil leak", "oil_seals"),
    ("handbrake", "shoes"),
    ("brake stuck", "shoes"),
    ("flat tyre", "tyres"),
    ("crack in the tyre", "tyres"),
    ("coolant leak", "cooling"),
    ("smell of petrol", "fuel_rubber"),
    ("fuel leak", "fuel_rubber"),
    ("battery case", "battery"),
)
SEEN_ON_A_ROUND = ("wiring", "trim", "oil_seals")  # what an inspection without a finding has looked at


def findings(seen: Sequence[tuple[date, str]], clean: date | None) -> tuple[Finding, ...]:
    """What was ``seen`` wrong (day, words) and not yet mended; ``clean``: the inspection that found nothing.

    Give ``clean`` only while it is recent enough to speak for today.
    """
    faults = [
        Finding(system, Seen.FAULTY, f"{words}, {day.day} {day:%b %Y}")
        for day, words in seen
        for system in _pointed_at(words)
    ]
    if clean is None:
        return tuple(faults)
    text = f"the inspection of {clean.day} {clean:%b %Y} found nothing wrong"
    return (*faults, *(Finding(system, Seen.GOOD, text) for system in SEEN_ON_A_ROUND))


def _pointed_at(words: str) -> list[str]:
    text = f"{words.lower()} "
    return list(dict.fromkeys(system for sign, system in SIGNS if sign in text))
