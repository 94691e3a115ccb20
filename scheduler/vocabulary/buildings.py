"""Kinds of building to begin with, each with the shelter that it usually gives."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class BuildingKind:
    """One kind; the title is the name of the first such building. ``may_heat``: it has walls to heat."""

    code: str
    title: str
    shelter: str
    may_heat: bool = True


BUILDING_KINDS = (
    BuildingKind(code="garage", title="Garage", shelter="enclosed"),
    BuildingKind(code="barn", title="Barn", shelter="enclosed"),
    BuildingKind(code="hall", title="Hall", shelter="enclosed"),
    BuildingKind(code="carport", title="Open-sided roof", shelter="covered", may_heat=False),
    BuildingKind(code="outdoors", title="Outdoors", shelter="open", may_heat=False),
)
BUILDING_KIND = {row.code: row for row in BUILDING_KINDS}
HEATED = "heated"  # the shelter of one with walls that is heated
