"""Oils, coolant and brake fluid: what kind, when last changed."""

from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from collection.models.choices import fluid_kinds
from collection.models.vehicles import Vehicle


class Fluid(models.Model):
    """One fluid of one car as recorded; a change in the care log supersedes it."""

    vehicle = models.ForeignKey(Vehicle, models.CASCADE, related_name="fluids")
    kind = models.CharField(max_length=15, choices=fluid_kinds)
    type = models.CharField(max_length=30, blank=True)
    changed_on = models.DateField("last changed", null=True, blank=True)
    glycol_pct = models.FloatField(
        "glycol, % by volume",
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(100)],
    )

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["vehicle", "kind"], name="each_fluid_once")]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.vehicle}"
