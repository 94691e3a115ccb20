"""Who outside is shown the signed statements, what they were shown, and who signed beside the keeper."""

from typing import ClassVar

from django.db import models

from collection.models.chain import SIGNATURE, Anchor, Chain
from collection.models.organisations import Organisation
from collection.models.people import Person


class Witness(models.Model):
    """A time-stamp authority, or an address that each statement is mailed to; and how it goes."""

    class Kind(models.TextChoices):
        """How it sees a statement."""

        AUTHORITY = "authority", "Time-stamp authority"
        MAIL = "mail", "Mail"

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="witnesses")
    kind = models.CharField(max_length=10, choices=Kind)
    to = models.CharField(max_length=400)
    name = models.CharField("who it is", max_length=80)
    made_by = models.ForeignKey(Person, models.SET_NULL, null=True, related_name="witnesses")
    made_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    tries = models.PositiveSmallIntegerField(default=0)
    next_at = models.DateTimeField()
    failing_since = models.DateTimeField(null=True, blank=True)
    failure = models.CharField(max_length=200, blank=True)

    class Meta:
        verbose_name_plural = "witnesses"
        ordering: ClassVar = ["kind", "name", "pk"]

    def __str__(self) -> str:
        return self.name


class Witnessed(models.Model):
    """A statement that a witness was shown; of an authority its answer, the stamp (RFC 3161)."""

    witness = models.ForeignKey(Witness, models.CASCADE, related_name="witnessed")
    anchor = models.ForeignKey(Anchor, models.PROTECT, related_name="witnessed")
    at = models.DateTimeField()
    response = models.TextField(blank=True)

    class Meta:
        verbose_name_plural = "witnessed statements"
        ordering: ClassVar = ["at", "pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["witness", "anchor"], name="each_statement_once_a_witness")
        ]

    def __str__(self) -> str:
        return f"{self.anchor}, {self.witness}"


class BroughtStamp(models.Model):
    """A stamp that came with a car, over a statement of its former keeper."""

    chain = models.ForeignKey(Chain, models.PROTECT, related_name="brought_stamps")
    statement = models.CharField(max_length=64)
    at = models.DateTimeField()
    response = models.TextField()

    def __str__(self) -> str:
        return f"{self.statement[:12]} in {self.chain}"


class Countersignature(models.Model):
    """Somebody beside the keeper signed where a chain ended: see collection.chain.countersigning.

    ``named`` can be forgotten; ``passkey`` is None where a key file signed.
    """

    chain = models.ForeignKey(Chain, models.PROTECT, related_name="countersignatures")
    seq = models.PositiveIntegerField()
    at = models.DateTimeField()
    statement = models.JSONField()
    signature = models.CharField(max_length=8 * SIGNATURE)
    named = models.JSONField(null=True)
    passkey = models.JSONField(null=True)

    class Meta:
        ordering: ClassVar = ["chain", "seq", "at", "pk"]

    def __str__(self) -> str:
        return f"{self.seq} in {self.chain}, {self.at:%Y-%m-%d}"
