"""What was asked for over days gone by and what came of it, from windows as each day saw them."""

from scheduler.past.count import Counts, count
from scheduler.past.waits import ENDINGS, Days, Waits, waits_of

__all__ = ["ENDINGS", "Counts", "Days", "Waits", "count", "waits_of"]
