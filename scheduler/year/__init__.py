"""What a year of care would be if something were kept otherwise, side by side with today's practice.

``compare`` is the one call: a fleet, what would change, the day, the thresholds, the rates.
"""

from scheduler.condition.prices import Rates, rate_terms
from scheduler.year.changes import STABILISE, Changes
from scheduler.year.compare import Comparison, compare
from scheduler.year.costs import Outcome
from scheduler.year.year import KINDS, MAINTAINER_CHECK

__all__ = [
    "KINDS",
    "MAINTAINER_CHECK",
    "STABILISE",
    "Changes",
    "Comparison",
    "Outcome",
    "Rates",
    "compare",
    "rate_terms",
]
