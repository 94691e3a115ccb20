"""What a standing car needs next, system by system, with what it may cost at given rates.

No single mark: each system keeps its own likelihoods, reasons and cost, and the parts stay in sight.
"""

from scheduler.condition.estimate import Money, Need, needs
from scheduler.condition.prices import Prices, price_terms
from scheduler.condition.standing import outlooks

__all__ = ["Money", "Need", "Prices", "needs", "outlooks", "price_terms"]
