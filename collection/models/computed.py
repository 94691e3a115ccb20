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
