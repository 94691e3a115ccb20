"""What is true: rows. No HTTP, no mail, no arithmetic."""

from collection.models.api import ApiToken, ApiWrite
from collection.models.attachments import Attachment
from collection.models.batteries import Battery
from collection.models.care import Entry, Reading
from collection.models.chain import Anchor, AnchoredHead, Chain, Link, Pseudonym
from collection.models.choices import (
    CareKind,
    EquipmentKind,
    FluidKind,
    FuelSystem,
    Quantity,
    Regime,
    Shelter,
    TankMaterial,
    TyrePosition,
    Venting,
)
from collection.models.clashes import Clash
from collection.models.computed import CarSummary, DutyRow, ForecastRun, RunPart
from collection.models.fluids import Fluid
from collection.models.fuel import Fuel
from collection.models.handovers import BroughtStatement, Handover
from collection.models.installation import SharedKey
from collection.models.joining import Invitation
from collection.models.loggers import LoggerDay, LoggerFile, LoggerState, MeasuredClimate
from collection.models.operations import BackupRun
from collection.models.organisations import Organisation
from collection.models.own_duties import OwnDuty
from collection.models.people import Membership, Operator, Owner, Person, Role, Threshold, Units
from collection.models.places import UNMARKED, Bay, Building, Climate, ClimateMonth, Site
from collection.models.plans import Assignment, SitePlan, Unplaced
from collection.models.private import CarNotes, KeyGrant, PrivateEvent, PrivateShowing, SiteNotes
from collection.models.rates import Rate
from collection.models.ready import ReadyBy
from collection.models.recommission import Damp, Evidence, Grade, HandbookValue, RecommissionCase
from collection.models.records import RecordEntry, SettingEntry
from collection.models.reminders import CalendarFeed, WeeklyMail
from collection.models.rules import CarRule, KindRule
from collection.models.sensors import Sensor, SensorReading
from collection.models.shares import ShareLink, ShareOpening
from collection.models.sign_ins import SignIn
from collection.models.spreadsheets import SheetImport, SheetKind, SheetMemory, SheetState, SheetWord
from collection.models.staff import (
    Equipment,
    Hand,
    Holiday,
    OpeningHours,
    OtherHours,
    PinnedChoice,
    ShiftNote,
    StormDay,
    Way,
    Weekday,
)
from collection.models.tyres import Tyre
from collection.models.vehicles import (
    Basis,
    LastEvent,
    LastUse,
    Vehicle,
)
from collection.models.webhooks import Delivery, DueChange, Webhook
from collection.models.witnesses import BroughtStamp, Countersignature, Witness, Witnessed

__all__ = [
    "UNMARKED",
    "Anchor",
    "AnchoredHead",
    "ApiToken",
    "ApiWrite",
    "Assignment",
    "Attachment",
    "BackupRun",
    "Basis",
    "Battery",
    "Bay",
    "BroughtStamp",
    "BroughtStatement",
    "Building",
    "CalendarFeed",
    "CarNotes",
    "CarRule",
    "CarSummary",
    "CareKind",
    "Chain",
    "Clash",
    "Climate",
    "ClimateMonth",
    "Countersignature",
    "Damp",
    "Delivery",
    "DueChange",
    "DutyRow",
    "Entry",
    "Equipment",
    "EquipmentKind",
    "Evidence",
    "Fluid",
    "FluidKind",
    "ForecastRun",
    "Fuel",
    "FuelSystem",
    "Grade",
    "Hand",
    "HandbookValue",
    "Handover",
    "Holiday",
    "Invitation",
    "KeyGrant",
    "KindRule",
    "LastEvent",
    "LastUse",
    "Link",
    "LoggerDay",
    "LoggerFile",
    "LoggerState",
    "MeasuredClimate",
    "Membership",
    "OpeningHours",
    "Operator",
    "Organisation",
    "OtherHours",
    "OwnDuty",
    "Owner",
    "Person",
    "PinnedChoice",
    "PrivateEvent",
    "PrivateShowing",
    "Pseudonym",
    "Quantity",
    "Rate",
    "Reading",
    "ReadyBy",
    "RecommissionCase",
    "RecordEntry",
    "Regime",
    "Role",
    "RunPart",
    "Sensor",
    "SensorReading",
    "SettingEntry",
    "ShareLink",
    "ShareOpening",
    "SharedKey",
    "SheetImport",
    "SheetKind",
    "SheetMemory",
    "SheetState",
    "SheetWord",
    "Shelter",
    "ShiftNote",
    "SignIn",
    "Site",
    "SiteNotes",
    "SitePlan",
    "StormDay",
    "TankMaterial",
    "Threshold",
    "Tyre",
    "TyrePosition",
    "Units",
    "Unplaced",
    "Vehicle",
    "Venting",
    "Way",
    "Webhook",
    "Weekday",
    "WeeklyMail",
    "Witness",
    "Witnessed",
]
