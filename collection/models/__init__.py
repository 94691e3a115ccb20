"""What is true: rows. No HTTP, no mail, no arithmetic."""

from collection.models.batteries import Battery
from collection.models.care import CareKind, Entry, Quantity, Reading
from collection.models.chain import Anchor, AnchoredHead, Chain, Link, Pseudonym
from collection.models.computed import DutyRow, ForecastRun
from collection.models.fluids import Fluid, FluidKind
from collection.models.fuel import Fuel
from collection.models.handovers import BroughtStatement, Handover
from collection.models.people import Membership, Organisation, Owner, Person, Role, Threshold, Units
from collection.models.places import Bay, Building, Climate, ClimateMonth, Shelter, Site
from collection.models.rates import Rate
from collection.models.shares import ShareLink, ShareOpening
from collection.models.tyres import Tyre, TyrePosition
from collection.models.vehicles import (
    Basis,
    FuelSystem,
    LastEvent,
    LastUse,
    Regime,
    TankMaterial,
    Vehicle,
    Venting,
)

__all__ = [
    "Anchor", "AnchoredHead", "Basis", "Battery", "Bay", "BroughtStatement", "Building", "CareKind",
    "Chain", "Climate", "ClimateMonth", "DutyRow", "Entry", "Fluid", "FluidKind", "ForecastRun", "Fuel",
    "FuelSystem", "Handover", "LastEvent", "LastUse", "Link", "Membership", "Organisation", "Owner",
    "Person", "Pseudonym", "Quantity", "Rate", "Reading", "Regime", "Role", "ShareLink", "ShareOpening",
    "Shelter", "Site", "TankMaterial", "Threshold", "Tyre", "TyrePosition", "Units", "Vehicle", "Venting",
]  # fmt: skip
