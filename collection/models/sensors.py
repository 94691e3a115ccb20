"""Sensors that speak for themselves, and what they said lately; what is older is kept as hours."""

from datetime import datetime, timedelta
from typing import ClassVar

from django.db import models

from collection.models.api import DIGEST, PREFIX
from collection.models.organisations import Organisation
from collection.models.people import Person
from collection.models.places import Building, Site
from collection.models.vehicles import Vehicle

LEAST_SILENCE = timedelta(hours=6)  # policy: a router that starts anew is no silence
MISSED = 6  # policy: so many readings in a row are not lost by the wireless alone


class Sensor(models.Model):
    """One sensor at a site (outdoors), in a building, or on a car. Its token is shown once and never kept.

    ``by`` answers for what it says: the entries that its readings make are theirs. ``heard_at`` is when it
    last spoke, ``measured_at`` the moment of its newest reading, ``every_s`` how often it measures.
    ``clock_off_s``: by how much its clock last ran ahead; 0 once it is right again.
    """

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="sensors")
    site = models.ForeignKey(Site, models.CASCADE, null=True, blank=True, related_name="sensors")
    building = models.ForeignKey(Building, models.CASCADE, null=True, blank=True, related_name="sensors")
    vehicle = models.ForeignKey(Vehicle, models.CASCADE, null=True, blank=True, related_name="sensors")
    name = models.CharField("what it is called", max_length=60)
    prefix = models.CharField(max_length=PREFIX)
    digest = models.CharField(max_length=DIGEST, unique=True)
    made_at = models.DateTimeField()
    by = models.ForeignKey(Person, models.SET_NULL, null=True, blank=True, related_name="sensors")
    ended_at = models.DateTimeField(null=True, blank=True)
    heard_at = models.DateTimeField(null=True, blank=True)
    measured_at = models.DateTimeField(null=True, blank=True)
    every_s = models.PositiveIntegerField(null=True, blank=True)
    clock_off_s = models.PositiveIntegerField(default=0)
    last = models.JSONField(default=dict, blank=True)
    minute = models.DateTimeField(null=True, blank=True)
    used_in_minute = models.PositiveIntegerField(default=0)

    class Meta:
        ordering: ClassVar = ["name", "pk"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="a_sensor_stands_in_one_place",
                condition=models.Q(site__isnull=False, building__isnull=True, vehicle__isnull=True)
                | models.Q(site__isnull=True, building__isnull=False, vehicle__isnull=True)
                | models.Q(site__isnull=True, building__isnull=True, vehicle__isnull=False),
            )
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def place(self) -> Site | Building | Vehicle:
        """Where it stands."""
        place = self.site or self.building or self.vehicle
        assert place is not None  # noqa: S101  # the database holds one of the three
        return place

    def silent_since(self, now: datetime) -> datetime | None:
        """When it last spoke, where that is too long ago; None while it speaks, and once it has ended."""
        if self.ended_at is not None:
            return None
        heard = self.heard_at or self.made_at
        patience = max(LEAST_SILENCE, timedelta(seconds=MISSED * (self.every_s or 0)))
        return heard if now - heard > patience else None


class SensorReading(models.Model):
    """One value as it was sent, until its hour is kept instead."""

    sensor = models.ForeignKey(Sensor, models.CASCADE, related_name="readings")
    quantity = models.CharField(max_length=20)
    position = models.CharField(max_length=20, blank=True)
    at = models.DateTimeField()
    value = models.FloatField()

    class Meta:
        ordering: ClassVar = ["at"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["sensor", "quantity", "position", "at"], name="each_moment_of_a_sensor_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.value:g}"
