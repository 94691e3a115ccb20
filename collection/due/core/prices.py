"""What an organisation may price."""

from collection.due.core.whatif import rates
from scheduler.condition import price_terms
from scheduler.duties.policy import PolicyTerm

__all__ = ["PolicyTerm", "terms"]


def terms() -> tuple[PolicyTerm, ...]:
    """Every rate that an organisation may set as its own: time, stuff, repairs."""
    return (*rates(), *price_terms())
