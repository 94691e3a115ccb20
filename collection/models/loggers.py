"""What loggers wrote down: files that came in, the hours kept of them, and the climates made of these."""

from typing import ClassVar

from django.db import models

from collection.models.attachments import DIGEST
from collection.models.organisations import Organisation
from collection.models.people import Person
from collection.models.places import Building, Climate, Site
from collection.models.sensors import Sensor
from collection.models.vehicles import Vehicle


class LoggerState(models.TextChoices):
    """How far a file has come."""

    WAITING = "waiting", "Waiting to be read"
    READING = "reading", "Being read"
    READ = "read", "Read, not yet accepted"
    FAILED = "failed", "Could not be read"
    ACCEPTED = "accepted", "Accepted"


class LoggerFile(models.Model):
    """A logger's file at one place or one car. The bytes are kept until it is accepted, then its digest.

    ``sensor``: there was no file; it holds the hours of one month of that sensor, and grows with them.
    ``layout`` is how it is read, ``understood`` what was found in it; both are plain values.
    """

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="logger_files")
    site = models.ForeignKey(Site, models.PROTECT, null=True, related_name="logger_files")
    building = models.ForeignKey(Building, models.PROTECT, null=True, related_name="logger_files")
    vehicle = models.ForeignKey(Vehicle, models.CASCADE, null=True, related_name="logger_files")
    sensor = models.ForeignKey(Sensor, models.SET_NULL, null=True, related_name="months")
    name = models.CharField(max_length=100)
    instrument = models.CharField(max_length=60, blank=True)
    digest = models.CharField(max_length=DIGEST)
    size = models.PositiveBigIntegerField()
    raw = models.CharField(max_length=100, blank=True)  # path in the media folder; empty once it is gone
    uploaded_at = models.DateTimeField()
    by = models.ForeignKey(Person, models.SET_NULL, null=True, related_name="logger_files")
    state = models.CharField(max_length=10, choices=LoggerState, default=LoggerState.WAITING)
    progress = models.CharField(max_length=100, blank=True)
    fault = models.CharField(max_length=500, blank=True)
    layout = models.JSONField(default=dict)
    understood = models.JSONField(default=dict)
    accepted_at = models.DateTimeField(null=True)

    class Meta:
        ordering: ClassVar = ["-uploaded_at", "-pk"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="a_logger_stood_in_one_place",
                condition=models.Q(site__isnull=False, building__isnull=True, vehicle__isnull=True)
                | models.Q(site__isnull=True, building__isnull=False, vehicle__isnull=True)
                | models.Q(site__isnull=True, building__isnull=True, vehicle__isnull=False),
            ),
            models.UniqueConstraint(fields=["site", "digest"], name="a_file_once_a_site"),
            models.UniqueConstraint(fields=["building", "digest"], name="a_file_once_a_building"),
            models.UniqueConstraint(fields=["vehicle", "digest"], name="a_file_once_a_car"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def place(self) -> Site | Building | Vehicle:
        """Where the logger stood."""
        place = self.site or self.building or self.vehicle
        assert place is not None  # noqa: S101  # the database holds one of the three
        return place


class LoggerDay(models.Model):
    """The hours of one UTC day as they were thinned: lists by hour, two quantities each.

    Of a place temperature °C and humidity %, of a car volts and temperature °C.
    """

    file = models.ForeignKey(LoggerFile, models.CASCADE, related_name="days")
    day = models.DateField()
    hours = models.JSONField()

    class Meta:
        ordering: ClassVar = ["day"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["file", "day"], name="each_logger_day_once")]

    def __str__(self) -> str:
        return f"{self.file}, {self.day}"


class MeasuredClimate(models.Model):
    """A climate made of the accepted files of a site (air outside) or of a building (air inside).

    ``series`` is a digest over those files; ``facts`` say from which, from when to when, how well covered.
    """

    climate = models.OneToOneField(Climate, models.CASCADE, related_name="measured")
    site = models.OneToOneField(Site, models.CASCADE, null=True, related_name="measured")
    building = models.OneToOneField(Building, models.CASCADE, null=True, related_name="measured")
    filled_from = models.ForeignKey(Climate, models.PROTECT, null=True, related_name="fills")
    series = models.CharField(max_length=DIGEST)
    facts = models.JSONField(default=dict)

    def __str__(self) -> str:
        return str(self.climate)
