"""Oils, coolant and brake fluid: what kind, when last changed."""

from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from collection.models.vehicles import Vehicle


class FluidKind(models.TextChoices):
    """The fluids that a stored car is watched for."""

    ENGINE_OIL = "engine_oil", "Engine oil"
    COOLANT = "coolant", "Coolant"
    BRAKE_FLUID = "brake_fluid", "Brake fluid"
    GEARBOX_OIL = "gearbox_oil", "Gearbox oil"
    AXLE_OIL = "axle_oil", "Axle oil"


class Fluid(models.Model):
    """One fluid of one car as recorded; a change in the care log supersedes it."""

    vehicle = models.ForeignKey(Vehicle, models.CASCADE, related_name="fluids")
    kind = models.CharField(max_length=15, choices=FluidKind)
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
