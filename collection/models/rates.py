"""What things cost an organisation: its own value for one of our rates."""

from typing import ClassVar

from django.db import models

from collection.models.organisations import Organisation


class Rate(models.Model):
    """One rate by its name in the computing core; a rate without a row keeps its default."""

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="rates")
    name = models.CharField(max_length=60)
    value = models.FloatField()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["organisation", "name"], name="one_value_a_rate")
        ]

    def __str__(self) -> str:
        return f"{self.name} = {self.value:g}"
