"""Computed rows: may be deleted and rebuilt at any time; nobody types into them."""

from typing import ClassVar

from django.db import models

from collection.models.people import Organisation
from collection.models.vehicles import Vehicle


class DutyRow(models.Model):
    """One duty of one car as last computed: when, with which models, from which conditions."""

    vehicle = models.ForeignKey(Vehicle, models.CASCADE, related_name="duties")
    duty = models.CharField(max_length=20)
    early = models.DateField(null=True)
    due = models.DateField(null=True)
    late = models.DateField(null=True)
    limit = models.CharField(max_length=120, blank=True)
    hold = models.CharField(max_length=200, blank=True)
    assumed = models.BooleanField()
    computed_for = models.DateField()
    computed_at = models.DateTimeField()
    models_version = models.PositiveIntegerField()
    fingerprint = models.CharField(max_length=64)

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["vehicle", "duty"], name="each_duty_once")]
        indexes: ClassVar = [models.Index(fields=["due"], name="duty_by_date")]

    def __str__(self) -> str:
        return f"{self.duty} of {self.vehicle}: {self.due}"


class Pressing(models.Model):
    """What presses most at one car, and how much, summed up from its duties as of a day.

    A long list is put in order and counted by these rows, without reading twelve times as many.
    ``computed_for`` and ``models_version`` are those of the duties; ``summed_for`` is the day on
    which their states were looked at. ``due`` is the last day of the calendar where none is known.
    """

    vehicle = models.OneToOneField(Vehicle, models.CASCADE, related_name="pressing")
    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="+")
    rank = models.PositiveSmallIntegerField()
    due = models.DateField()
    duty = models.CharField(max_length=20)
    late = models.PositiveSmallIntegerField()
    this_week = models.PositiveSmallIntegerField()
    held = models.PositiveSmallIntegerField()
    computed_for = models.DateField()
    models_version = models.PositiveIntegerField()
    summed_for = models.DateField()

    class Meta:
        verbose_name_plural = "pressing"
        indexes: ClassVar = [
            models.Index(
                fields=["organisation", "rank", "due", "duty", "vehicle"], name="most_pressing_first"
            ),
            models.Index(
                fields=["vehicle", "computed_for", "models_version", "late", "this_week", "held"],
                name="pressing_counted",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.vehicle}: {self.duty}"


class ForecastRun(models.Model):
    """One recompute of an organisation's fleet: how long, how many cars, what went wrong."""

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="runs")
    started_at = models.DateTimeField()
    seconds = models.FloatField(null=True)
    cars = models.PositiveIntegerField(default=0)
    errors = models.JSONField(default=list)
    trigger = models.CharField(max_length=40)

    class Meta:
        ordering: ClassVar = ["-started_at"]

    def __str__(self) -> str:
        return f"{self.organisation}, {self.started_at:%Y-%m-%d %H:%M}"
