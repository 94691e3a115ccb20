"""The battery in the car: what it is, how old, what draws on it."""

from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from collection.models.vehicles import Vehicle


class Battery(models.Model):
    """One battery; the one without a removal date is in the car now."""

    vehicle = models.ForeignKey(Vehicle, models.CASCADE, related_name="batteries")
    chemistry = models.CharField(max_length=30, blank=True)
    capacity_ah = models.FloatField(
        "capacity, Ah", null=True, blank=True, validators=[MinValueValidator(2), MaxValueValidator(400)]
    )
    volts = models.PositiveSmallIntegerField(
        null=True, blank=True, choices=[(6, "6 V"), (12, "12 V"), (24, "24 V")]
    )
    made_on = models.DateField("made", null=True, blank=True)
    installed_on = models.DateField("installed", null=True, blank=True)
    removed_on = models.DateField("removed", null=True, blank=True)
    isolated = models.BooleanField("isolator fitted and open", default=False)
    maintainer_since = models.DateField("on a maintainer since", null=True, blank=True)
    drain_ma = models.FloatField(
        "key-off drain, mA",
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(5000)],
    )
    full_sg = models.FloatField(
        "full-charge specific gravity",
        null=True,
        blank=True,
        validators=[MinValueValidator(1.2), MaxValueValidator(1.35)],
    )

    class Meta:
        verbose_name_plural = "batteries"
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["vehicle"], condition=models.Q(removed_on__isnull=True), name="one_battery_at_a_time"
            ),
            models.CheckConstraint(
                condition=models.Q(made_on__isnull=True)
                | models.Q(installed_on__isnull=True)
                | models.Q(installed_on__gte=models.F("made_on")),
                name="installed_after_made",
                violation_error_message="Installed is before made: check both dates.",
            ),
        ]

    def __str__(self) -> str:
        return f"battery of {self.vehicle}"
