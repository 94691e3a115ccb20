"""What is true: rows. No HTTP, no mail, no arithmetic."""

from collection.models.attachments import Attachment
from collection.models.batteries import Battery
from collection.models.care import CareKind, Entry, Quantity, Reading
from collection.models.chain import Anchor, AnchoredHead, Chain, Link, Pseudonym
from collection.models.computed import DutyRow, ForecastRun
from collection.models.fluids import Fluid, FluidKind
from collection.models.fuel import Fuel
from collection.models.people import Membership, Organisation, Owner, Person, Role, Threshold, Units
from collection.models.places import Bay, Building, Climate, ClimateMonth, Shelter, Site
from collection.models.private import CarNotes, SiteNotes
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
    "Anchor", "AnchoredHead", "Attachment", "Basis", "Battery", "Bay", "Building", "CarNotes",
    "CareKind", "Chain", "Climate", "ClimateMonth", "DutyRow", "Entry", "Fluid", "FluidKind",
    "ForecastRun", "Fuel", "FuelSystem", "LastEvent", "LastUse", "Link", "Membership", "Organisation",
    "Owner", "Person", "Pseudonym", "Quantity", "Reading", "Regime", "Role", "Shelter", "Site",
    "SiteNotes", "TankMaterial", "Threshold", "Tyre", "TyrePosition", "Units", "Vehicle", "Venting",
]  # fmt: skip
