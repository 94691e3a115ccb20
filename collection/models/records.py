"""What was written on records: of cars, of sites, of the organisation. Each only grows, like the care log."""

import uuid
from typing import ClassVar

from django.db import models

from collection.models.chain import Chain, Link
from collection.models.people import Person
from collection.models.vehicles import Basis, Vehicle


class RecordEntry(models.Model):
    """One save of a car's record: per field what it was, what it is now, since which day.

    ``facts`` holds them by the names of collection.care.queries.record; a fact that corrects another names
    the entry that said so. ``opening``: it tells the whole record, whatever was said before. ``by`` is
    nobody where the programme wrote down what stood already. ``done_at`` is the moment from which a bay
    named in it counts. ``brought``: it came with the car, and keys of rows in it are not ours.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    vehicle = models.ForeignKey(Vehicle, models.PROTECT, related_name="record_entries")
    link = models.OneToOneField(Link, models.PROTECT, related_name="record")
    done_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="record_entries")
    facts = models.JSONField(default=dict)
    basis = models.CharField(max_length=12, choices=Basis, blank=True)
    opening = models.BooleanField(default=False)
    brought = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar = ["link__seq"]
        verbose_name_plural = "record entries"

    def __str__(self) -> str:
        return f"Record of {self.vehicle}, {self.recorded_at:%Y-%m-%d}"


class SettingEntry(models.Model):
    """One save of what is set for a site (climate, buildings, bays) or an organisation (limits, prices).

    ``facts`` is of the same form as those of a record; names stand in collection.life.settings.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    chain = models.ForeignKey(Chain, models.PROTECT, related_name="setting_entries")
    link = models.OneToOneField(Link, models.PROTECT, related_name="setting")
    done_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="setting_entries")
    facts = models.JSONField(default=dict)
    opening = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar = ["link__seq"]
        verbose_name_plural = "setting entries"

    def __str__(self) -> str:
        return f"Settings of {self.chain.subject}, {self.recorded_at:%Y-%m-%d}"
