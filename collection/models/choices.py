"""Choices that come from the vocabulary: as names for code, and as callables for columns.

A column's choices are a callable, so that a new row needs no migration.
"""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, Protocol

from django.db.models import TextChoices

from scheduler.vocabulary import (
    bodies,
    care,
    duties,
    equipment,
    fluids,
    machine,
    own_duties,
    positions,
    quantities,
    regimes,
)

Pairs = list[tuple[str, str]]


class _Row(Protocol):
    @property
    def code(self) -> str: ...
    @property
    def title(self) -> str: ...


def _members(rows: Iterable[_Row]) -> dict[str, tuple[str, str]]:
    return {row.code.upper().replace(" ", "_"): (row.code, row.title) for row in rows}


if TYPE_CHECKING:
    from django.db.models.enums import _TextChoicesType  # it has that name in the stubs only

    class _OfRows(_TextChoicesType):
        """The members of a class made of rows are known when it is made, not when types are checked."""

        def __getattr__(self, name: str) -> Any: ...

else:
    _OfRows = type(TextChoices)


class CareKind(TextChoices, metaclass=_OfRows):
    """What was done, found or said."""

    vars().update(_members(care.CARE))


class Quantity(TextChoices, metaclass=_OfRows):
    """What a reading measures."""

    vars().update(_members(quantities.QUANTITIES))


class FluidKind(TextChoices, metaclass=_OfRows):
    """The fluids that a stored car is watched for."""

    vars().update(_members(fluids.FLUIDS))


class TyrePosition(TextChoices, metaclass=_OfRows):
    """Where the tyre is fitted."""

    vars().update(_members(positions.TYRES))


class FuelSystem(TextChoices, metaclass=_OfRows):
    """How fuel reaches the engine."""

    vars().update(_members(regimes.FUEL_SYSTEMS))


class TankMaterial(TextChoices, metaclass=_OfRows):
    """What the fuel tank is made of."""

    vars().update(_members(regimes.TANK_MATERIALS))


class Venting(TextChoices, metaclass=_OfRows):
    """How freely the tank breathes."""

    vars().update(_members(regimes.VENTINGS))


class Body(TextChoices, metaclass=_OfRows):
    """What the car looks like from the side."""

    vars().update(_members(bodies.BODIES))


class Regime(TextChoices, metaclass=_OfRows):
    """The two ways of keeping a car, never mixed by accident, and a car that stood unrecorded."""

    vars().update(_members(regimes.REGIMES))


class Shelter(TextChoices, metaclass=_OfRows):
    """How much of the weather reaches a car."""

    vars().update(_members(regimes.SHELTERS))


class EquipmentKind(TextChoices, metaclass=_OfRows):
    """What a task may need besides staff; the values are the words of the planner."""

    vars().update(_members(equipment.EQUIPMENT))


def care_kinds() -> Pairs:
    """Kinds of care."""
    return CareKind.choices


def quantity_kinds() -> Pairs:
    """Quantities."""
    return Quantity.choices


def fluid_kinds() -> Pairs:
    """Fluids."""
    return FluidKind.choices


def tyre_positions() -> Pairs:
    """Places of tyres."""
    return TyrePosition.choices


def fuel_systems() -> Pairs:
    """Fuel systems."""
    return FuelSystem.choices


def tank_materials() -> Pairs:
    """Materials of tanks."""
    return TankMaterial.choices


def ventings() -> Pairs:
    """Ways of venting a tank."""
    return Venting.choices


def body_kinds() -> Pairs:
    """Kinds of body."""
    return Body.choices


def regime_kinds() -> Pairs:
    """Regimes of care."""
    return Regime.choices


def shelters() -> Pairs:
    """Shelters."""
    return Shelter.choices


def equipment_kinds() -> Pairs:
    """Kinds of equipment."""
    return EquipmentKind.choices


def built_with(part: str) -> Pairs:
    """What a part of a car may be."""
    return [(choice.code, choice.title) for choice in machine.BUILD_PART[part].choices]


def duty_codes() -> Pairs:
    """Duties."""
    return [(duty.code, duty.title) for duty in duties.DUTIES]


def own_kinds() -> Pairs:
    """Kinds of duties that keepers add."""
    return [(kind.code, kind.title) for kind in own_duties.OWN_KINDS]
