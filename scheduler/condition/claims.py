"""What an outlook claims of a part, as values that can be checked, and the words made of them.

No sentence of an outlook is written by hand: it is the text of a claim, and a claim holds what it says.
"""

from dataclasses import dataclass
from enum import StrEnum

from scheduler.vocabulary.units import DAYS_PER_MONTH, DAYS_PER_YEAR


class Says(StrEnum):
    """What a claim is about."""

    STOOD = "stood"  # low to high days since what it is about; high None: nobody knows
    ONSET = "onset"  # low to high days from which standing tells
    SOONER = "sooner"  # what hastens it here
    LATER = "later"  # what spares it here
    DAMP = "damp"  # low: share of the days, 0 to 1
    FOUND = "found"  # what somebody saw or measured
    UNSEEN = "unseen"  # nobody looked, and days stood tell nothing


@dataclass(frozen=True)
class Claim:
    """One thing that is said of a part; ``low`` and ``high`` by its kind, ``about`` in words."""

    says: Says
    low: float = 0.0
    high: float | None = None
    about: str = ""

    @property
    def text(self) -> str:
        """The claim in words."""
        match self.says:
            case Says.STOOD:
                return stood_text(self.low, self.high, self.about)
            case Says.ONSET:
                return f"standing tells on it from {_range(self.low, self.high or self.low)}"
            case Says.SOONER:
                return f"sooner with: {self.about}"
            case Says.LATER:
                return f"later with: {self.about}"
            case Says.DAMP:
                return f"about {self.low:.0%} of the days were damp"
            case Says.FOUND:
                return f"found at the car: {self.about}"
            case Says.UNSEEN:
                return "nobody has looked: it is told by what is found, not by days stood"


def stood_text(low: float, high: float | None, since: str = "") -> str:
    """How long it has stood since something, from least to most days; ``high`` None where nobody knows."""
    after = f" since {since}" if since else ""
    if high is not None:
        return f"it has stood {_range(low, high)}{after}"
    if round(low) < 1:
        return f"nobody knows how long it has stood{after}"
    return f"it has stood at least {span(low)}{after}, and nobody knows how much longer"


def _range(low: float, high: float) -> str:
    least, most = span(low), span(high)
    return least if least == most else f"{least} to {most}"


def span(days: float) -> str:
    """Days as people say them."""
    if days < 2 * DAYS_PER_MONTH:
        return "1 day" if round(days) == 1 else f"{days:.0f} days"
    if days < 2 * DAYS_PER_YEAR:
        return f"{days / DAYS_PER_MONTH:.0f} months"
    return f"{days / DAYS_PER_YEAR:.1f} years"
