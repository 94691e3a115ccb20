"""A car handed over to somebody else with its history, and what came with a car that was handed to us."""

from typing import ClassVar

from django.db import models

from collection.models.chain import DIGEST, SIGNATURE, Chain
from collection.models.organisations import Organisation
from collection.models.people import Person
from collection.models.vehicles import Vehicle


class Handover(models.Model):
    """One car given out of our hands; the file that went with it lies in the media folder."""

    vehicle = models.ForeignKey(Vehicle, models.PROTECT, related_name="handovers")
    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="handovers")
    by = models.ForeignKey(Person, models.SET_NULL, null=True, related_name="handovers")
    at = models.DateTimeField()
    to = models.CharField("handed to", max_length=120)
    left_out = models.PositiveIntegerField("photographs and documents left out", default=0)
    digest = models.CharField(max_length=DIGEST)

    class Meta:
        ordering: ClassVar = ["-at"]

    def __str__(self) -> str:
        return f"{self.vehicle} to {self.to}, {self.at:%Y-%m-%d}"


class BroughtStatement(models.Model):
    """A statement that another installation signed over a chain before it came here."""

    chain = models.ForeignKey(Chain, models.PROTECT, related_name="brought")
    seq = models.PositiveIntegerField()
    statement = models.JSONField()
    signature = models.CharField(max_length=SIGNATURE)
    place = models.PositiveIntegerField()
    proof = models.JSONField(default=list)
    named = models.JSONField(null=True)

    class Meta:
        ordering: ClassVar = ["chain", "seq"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["chain", "seq", "signature"], name="each_statement_brought_once"),
        ]

    def __str__(self) -> str:
        return f"Statement over {self.chain_id} up to {self.seq}"


def path_of(digest: str) -> str:
    """Where the file of a handing over lies in the media folder."""
    return f"handovers/{digest}.zip"
