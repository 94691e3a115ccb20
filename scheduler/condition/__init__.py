"""What a standing car needs next, system by system, with what it may cost at given rates.

No single mark: each system keeps its own likelihoods, reasons and cost, and the parts stay in sight.
"""

from scheduler.condition.estimate import Estimate, Need, estimate_care, needs
from scheduler.condition.prices import Prices, price_terms
from scheduler.condition.standing import PutAway, Spells, outlooks, spells, stood

__all__ = [
    "Estimate",
    "Need",
    "Prices",
    "PutAway",
    "Spells",
    "estimate_care",
    "needs",
    "outlooks",
    "price_terms",
    "spells",
    "stood",
]
