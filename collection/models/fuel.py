"""What is in the tank, as found when it was written down; the care log carries on from there."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from collection.models.vehicles import Vehicle


class Fuel(models.Model):
    """The fuel state on a given day."""

    vehicle = models.OneToOneField(Vehicle, models.CASCADE, related_name="fuel")
    grade = models.CharField(max_length=20, blank=True)
    bio_pct = models.FloatField(
        "ethanol or FAME, % by volume",
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(100)],
    )
    litres = models.FloatField(
        "litres in the tank",
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(1000)],
    )
    filled_on = models.DateField("filled on", null=True, blank=True)
    stabilised_on = models.DateField("stabilised on", null=True, blank=True)
    as_of = models.DateField("as found on", null=True, blank=True)

    class Meta:
        verbose_name_plural = "fuel"

    def __str__(self) -> str:
        return f"fuel of {self.vehicle}"
