"""Tyres by their place on the car."""

from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from collection.models.choices import tyre_positions
from collection.models.vehicles import Vehicle


class Tyre(models.Model):
    """One tyre: its date code as moulded, and the pressure on the placard."""

    vehicle = models.ForeignKey(Vehicle, models.CASCADE, related_name="tyres")
    position = models.CharField(max_length=12, choices=tyre_positions)
    date_code = models.CharField(max_length=4, blank=True)
    placard_kpa = models.FloatField(
        "placard pressure, kPa",
        null=True,
        blank=True,
        validators=[MinValueValidator(50), MaxValueValidator(900)],
    )

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["vehicle", "position"], name="each_tyre_once")
        ]

    def __str__(self) -> str:
        return f"{self.get_position_display()} tyre of {self.vehicle}"
