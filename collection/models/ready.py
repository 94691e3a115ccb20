"""A day on which a car is wanted ready. A wish of its keepers and no fact of the car: not in its chain."""

from typing import ClassVar

from django.db import models

from collection.models.people import Person
from collection.models.vehicles import Vehicle


class ReadyBy(models.Model):
    """A car is wanted for something on a day; it ends by itself after the day, or is withdrawn."""

    vehicle = models.ForeignKey(Vehicle, models.CASCADE, related_name="ready_days")
    day = models.DateField()
    purpose = models.CharField("what for", max_length=60)
    by = models.ForeignKey(Person, models.SET_NULL, null=True, related_name="ready_days")
    asked_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["day", "pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["vehicle", "day"], name="one_wish_a_car_and_day")
        ]

    def __str__(self) -> str:
        return f"{self.vehicle}, {self.day}: {self.purpose}"
