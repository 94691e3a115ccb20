"""What repairs cost, and what time and stuff cost, in the one money of an organisation."""

from dataclasses import dataclass, field, fields
from typing import Any

from scheduler.duties.policy import PolicyTerm


def _price(label: str, unit: str, default: float, high: float, reason: str) -> Any:
    """A field of ``Prices`` with what the page needs to ask for it."""
    return field(
        default=default, metadata={"label": label, "unit": unit, "low": 0.0, "high": high, "reason": reason}
    )


@dataclass(frozen=True)
class Prices:
    """What repairs cost, in whatever money the organisation counts in; every default is policy."""

    workshop_hour: float = _price(
        "An hour of a workshop", "an hour", 60.0, 1000.0, "repairs and recommissioning; yours"
    )
    parts_factor: float = _price(
        "Small parts and materials of recommissioning",
        "times those of a small simple car",
        1.0,
        100.0,
        "filters, oils, gaskets; 3 where they cost three times as much",
    )
    battery: float = _price("A battery", "each", 120.0, 5000.0, "a starter battery of a middling car; yours")
    tyre: float = _price("A tyre, fitted", "each", 140.0, 5000.0, "a road tyre of an older size; yours")
    brake_set: float = _price("Brake parts", "an axle", 160.0, 10_000.0, "cylinders, seals and shoes; yours")
    exhaust: float = _price("An exhaust", "each", 350.0, 20_000.0, "a mild steel system; yours")
    small_part: float = _price("A small part", "each", 30.0, 1000.0, "a hose, a gasket, a seal; yours")


def price_terms() -> tuple[PolicyTerm, ...]:
    """Each price with its default, limits and reason, for the page where it is typed."""
    return tuple(
        PolicyTerm(name=each.name, default=getattr(Prices, each.name), **each.metadata)
        for each in fields(Prices)
    )


MINUTES_PER_HOUR = 60.0


def _rate(label: str, unit: str, default: float, high: float, reason: str) -> Any:
    """A field of ``Rates`` with what the page needs to ask for it."""
    return field(
        default=default,
        metadata={"label": label, "unit": unit, "low": 0.0, "high": high, "reason": reason},
    )


@dataclass(frozen=True)
class Rates:
    """What things cost, in whatever money the organisation counts in; every default is policy."""

    hour: float = _rate("An hour of staff", "an hour", 30.0, 1000.0, "wages with their on-costs; yours")
    kwh: float = _rate("Electricity", "a kWh", 0.30, 10.0, "a household tariff; yours")
    fuel: float = _rate("Fuel", "a litre", 1.60, 20.0, "a pump price; yours")
    stabiliser: float = _rate("Stabiliser", "a litre of fuel treated", 0.10, 10.0, "by the dose; yours")
    fluid: float = _rate("Oil or fluid", "a change", 35.0, 1000.0, "a can and a filter; yours")
    maintainer_w: float = _rate(
        "A maintainer left on draws", "W", 3.0, 100.0, "idling draw of a small maintainer; read your meter"
    )


def rate_terms() -> tuple[PolicyTerm, ...]:
    """Each rate with its default, limits and reason, for the page where it is typed."""
    return tuple(PolicyTerm(name=f.name, default=getattr(Rates, f.name), **f.metadata) for f in fields(Rates))
