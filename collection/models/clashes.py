"""Two people who finished one task: the entry that stands, and what the other had to say."""

from typing import ClassVar

from django.db import models

from collection.models.care import Entry
from collection.models.people import Person


class Clash(models.Model):
    """What a second person sent for work that was already logged: kept, told to both, not logged twice."""

    entry = models.ForeignKey(Entry, models.PROTECT, related_name="clashes")
    by = models.ForeignKey(Person, models.CASCADE, related_name="clashes")
    at = models.DateTimeField()
    idempotency_key = models.CharField(max_length=64)
    said = models.JSONField(default=dict)

    class Meta:
        ordering: ClassVar = ["-at"]
        verbose_name_plural = "clashes"
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["entry", "idempotency_key"], name="each_clash_once")
        ]

    def __str__(self) -> str:
        return f"{self.entry}, and {self.by}"
