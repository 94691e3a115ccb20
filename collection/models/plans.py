"""Coming weeks as last worked out: computed rows, deleted and rebuilt at any time."""

from typing import ClassVar

from django.db import models

from collection.models.people import Person
from collection.models.places import Site
from collection.models.vehicles import Vehicle


class SitePlan(models.Model):
    """One site's plan: from which facts, when, how good. ``score`` and ``year`` are plain figures."""

    site = models.OneToOneField(Site, models.CASCADE, related_name="plan")
    fingerprint = models.CharField(max_length=64)
    stamp = models.CharField(max_length=64, default="")  # of when its facts last changed: quick to look at
    computed_for = models.DateField()
    computed_at = models.DateTimeField()
    asked_at = models.DateTimeField(null=True)
    last_day = models.DateField()
    score = models.JSONField(default=dict)
    year = models.JSONField(default=list)

    def __str__(self) -> str:
        return f"{self.site}, {self.computed_for}"


class Assignment(models.Model):
    """One step of one person's day: a task, or a car rolled out of the way (no duty)."""

    plan = models.ForeignKey(SitePlan, models.CASCADE, related_name="assignments")
    vehicle = models.ForeignKey(Vehicle, models.CASCADE, related_name="assignments")
    key = models.CharField(max_length=60)
    duty = models.CharField(max_length=20, blank=True)
    day = models.DateField()
    person = models.ForeignKey(Person, models.CASCADE, related_name="assignments")
    start = models.PositiveSmallIntegerField(help_text="Minutes from midnight at the site.")
    minutes = models.PositiveSmallIntegerField()
    order = models.PositiveSmallIntegerField()
    late_days = models.PositiveIntegerField(default=0)
    due = models.DateField(null=True)
    reason = models.CharField(max_length=400)

    class Meta:
        ordering: ClassVar = ["day", "person__name", "person", "order"]
        indexes: ClassVar = [models.Index(fields=["plan", "day"], name="assignment_by_day")]

    def __str__(self) -> str:
        return f"{self.duty or 'move'} of {self.vehicle}, {self.day}"

    @property
    def is_first(self) -> bool:
        """Whether it is the duty that is forecast now, not one that comes round again."""
        return bool(self.duty) and "#" not in self.key


class Unplaced(models.Model):
    """A task that has no place in time: why, and each single change that would give it one."""

    plan = models.ForeignKey(SitePlan, models.CASCADE, related_name="unplaced")
    vehicle = models.ForeignKey(Vehicle, models.CASCADE, related_name="unplaced")
    key = models.CharField(max_length=60)
    duty = models.CharField(max_length=20)
    why = models.CharField(max_length=600)
    would_fit = models.JSONField(default=list)
    late_on = models.DateField(null=True)
    late = models.DateField(help_text="From here on it is late.")

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return f"{self.duty} of {self.vehicle}: {self.why}"
