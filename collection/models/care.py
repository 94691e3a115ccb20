"""The care log: it only grows. The database itself refuses to change or delete an entry."""

import uuid
from datetime import datetime, timedelta
from typing import ClassVar

from django.db import models

from collection.models.people import Person
from collection.models.vehicles import Vehicle

# The detail that says by how many seconds the clock that gave ``done_at`` ran ahead of ours.
CLAIM_SKEW = "claim_skew_s"


class CareKind(models.TextChoices):
    """What was done, found or said."""

    CHARGE = "charge", "Battery charge"
    MAINTAINER = "maintainer", "Maintainer on or off"
    BATTERY_READING = "battery_reading", "Battery reading"
    RUN_UP = "run_up", "Run-up"
    STABILISER = "stabiliser", "Fuel stabiliser"
    FUEL_ADDED = "fuel_added", "Fuel added"
    FUEL_DRAINED = "fuel_drained", "Fuel drained"
    FLUID_CHANGED = "fluid_changed", "Fluid changed"
    FLUID_READING = "fluid_reading", "Fluid reading"
    TYRE_PRESSURES = "tyre_pressures", "Tyre pressures"
    MOVED = "moved", "Moved"
    INSPECTED = "inspected", "Inspected"
    TAG_OPENED = "tag_opened", "Tag hung"
    TAG_CLOSED = "tag_closed", "Tag taken off"
    NOT_DONE = "not_done", "Not done"
    WAKING_RESULT = "waking_result", "Waking step"
    SYSTEM_SEEN = "system_seen", "System looked at"
    HAZARD = "hazard", "Hazard seen or gone"
    FAULT_TEST = "fault_test", "Fault test"
    WITHDRAWN = "withdrawn", "Entry withdrawn"
    NOTE = "note", "Note"


class Entry(models.Model):
    """One thing that happened to one car. Wrong entries are corrected by a new one that names them.

    ``details`` holds what the kind needs (minutes, litres, reasons) in SI units; what was measured
    stands in ``readings``. An entry that ``corrects`` another takes its place; a WITHDRAWN entry
    says that the other never happened.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    vehicle = models.ForeignKey(Vehicle, models.PROTECT, related_name="entries")
    kind = models.CharField(max_length=20, choices=CareKind)
    done_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(Person, models.PROTECT, related_name="entries")
    details = models.JSONField(default=dict)
    note = models.TextField(blank=True, max_length=2000)
    corrects = models.OneToOneField(
        "self", models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )
    idempotency_key = models.CharField(max_length=64)

    class Meta:
        ordering: ClassVar = ["-done_at", "-recorded_at"]
        verbose_name_plural = "entries"
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["vehicle", "idempotency_key"], name="sent_twice_stored_once")
        ]
        indexes: ClassVar = [models.Index(fields=["vehicle", "kind", "-done_at"], name="entry_by_kind")]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {self.vehicle}, {self.done_at:%Y-%m-%d}"

    @property
    def done_by_our_clock(self) -> datetime:
        """When it was done, with the clock of a phone that ran ahead or behind set right."""
        return self.done_at - timedelta(seconds=self.details.get(CLAIM_SKEW, 0))


class Quantity(models.TextChoices):
    """What a reading measures; the unit inside is SI or as named here."""

    RESTED_VOLTS = "rested_volts", "Rested volts"
    SPECIFIC_GRAVITY = "specific_gravity", "Specific gravity"
    CHARGING_VOLTS = "charging_volts", "Charging volts"
    OIL_PRESSURE = "oil_pressure", "Oil pressure, kPa"
    TYRE_PRESSURE = "tyre_pressure", "Tyre pressure, kPa"
    BRAKE_WATER = "brake_water", "Water in brake fluid, %"
    COOLANT_FREEZE_POINT = "coolant_freeze_point", "Coolant freezing point, °C"
    KEY_OFF_DRAIN = "key_off_drain", "Key-off drain, A"
    SURFACE_RH = "surface_rh", "Relative humidity at the car, %"


class Reading(models.Model):
    """A measured value that belongs to an entry and shares its fate."""

    entry = models.ForeignKey(Entry, models.PROTECT, related_name="readings")
    quantity = models.CharField(max_length=25, choices=Quantity)
    value = models.FloatField()
    position = models.CharField(max_length=12, blank=True)
    temperature_c = models.FloatField(null=True, blank=True)
    rest_hours = models.FloatField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return f"{self.get_quantity_display()} {self.value:g}"
