"""Kinds of car as starting points: what is usual for one, until somebody has looked.

Common practice throughout. A kind holds only what nearly all of its cars have in common: what is left
out (capacity, drain, how the tank breathes) the models assume themselves, with a wider window.
"""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class CarKind:
    """One kind. ``by_year_from``: a car of that year or later is taken as this, until the next one begins.

    ``fuel_system`` and ``system_volts`` are what its record holds, marked as assumed.
    """

    code: str
    title: str
    fuel_system: str
    system_volts: int
    by_year_from: int | None = None


CAR_KINDS = (
    CarKind(
        code="carburettor_6v",
        title="1930s to 60s, carburettor, 6 V",
        fuel_system="carburettor",
        system_volts=6,
        by_year_from=0,
    ),
    CarKind(
        code="carburettor_12v",
        title="1930s to 60s, carburettor, 12 V",
        fuel_system="carburettor",
        system_volts=12,
        by_year_from=1955,
    ),
    CarKind(
        code="carburettor_later",
        title="1970s and 80s, carburettor",
        fuel_system="carburettor",
        system_volts=12,
        by_year_from=1970,
    ),
    CarKind(
        code="mechanical_injection",
        title="1970s and 80s, mechanical injection",
        fuel_system="mechanical_injection",
        system_volts=12,
    ),
    CarKind(
        code="injection",
        title="1990s, electronic injection",
        fuel_system="electronic_injection",
        system_volts=12,
        by_year_from=1990,
    ),
    CarKind(
        code="injection_drain",
        title="2000s on, electronics that draw while parked",
        fuel_system="electronic_injection",
        system_volts=12,
        by_year_from=2000,
    ),
    CarKind(code="diesel", title="Diesel, 12 V", fuel_system="diesel", system_volts=12),
    CarKind(code="diesel_24v", title="Diesel, 24 V", fuel_system="diesel", system_volts=24),
)
CAR_KIND = {row.code: row for row in CAR_KINDS}


def kind_of_year(year: int) -> CarKind:
    """The kind that a car of a year most likely is."""
    begun = [row for row in CAR_KINDS if row.by_year_from is not None and row.by_year_from <= year]
    return max(begun, key=lambda row: row.by_year_from or 0)
