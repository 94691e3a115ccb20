"""The chain of each car, site and organisation, and the signed statements over them: they only grow."""

import uuid
from typing import ClassVar

from django.db import models

from collection.models.care import Entry
from collection.models.organisations import Organisation
from collection.models.people import Person
from collection.models.vehicles import Vehicle

DIGEST = 64  # hexadecimal digits of SHA-256
SIGNATURE = 128  # of Ed25519


class Pseudonym(models.Model):
    """What stands for a person in every chain; the name beside it can be forgotten, this cannot."""

    person = models.OneToOneField(Person, models.PROTECT, related_name="pseudonym")
    token = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)

    def __str__(self) -> str:
        return str(self.token)


class Chain(models.Model):
    """The chain of one car, named at random so that it says nothing about the car; or of what is set.

    What is set for an organisation stands in one chain (``subject`` is "organisation"), what is set for each
    of its sites in one more ("site." and its number: no foreign key, since a chain outlives its site).
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    vehicle = models.OneToOneField(Vehicle, models.PROTECT, null=True, related_name="chain")
    organisation = models.ForeignKey(Organisation, models.PROTECT, null=True, related_name="setting_chains")
    subject = models.CharField(max_length=30, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["organisation", "subject"], name="one_chain_a_subject"),
            models.CheckConstraint(
                condition=models.Q(vehicle__isnull=False, organisation__isnull=True, subject="")
                | (models.Q(vehicle__isnull=True, organisation__isnull=False) & ~models.Q(subject="")),
                name="chain_of_a_car_or_of_settings",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.id} of {self.vehicle or self.subject}"


class Link(models.Model):
    """An entry's place in its car's chain: see collection.chain.links for what each digest covers.

    ``entry`` is of the care log; an entry of a record, evidence and what is set name their links themselves.
    ``car`` says which car or site it was. ``fields`` holds salt and digest of each field; it is empty in
    links of the first form.
    """

    chain = models.ForeignKey(Chain, models.PROTECT, related_name="links")
    seq = models.PositiveIntegerField()
    entry = models.OneToOneField(Entry, models.PROTECT, null=True, related_name="link")
    previous = models.CharField(max_length=DIGEST)
    car = models.JSONField()
    written = models.CharField(max_length=DIGEST)
    measured = models.CharField(max_length=DIGEST)
    digest = models.CharField(max_length=DIGEST)
    fields = models.JSONField(default=dict)

    class Meta:
        ordering: ClassVar = ["chain", "seq"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["chain", "seq"], name="one_link_a_place"),
        ]

    def __str__(self) -> str:
        return f"{self.seq}: {self.digest[:12]}"


class Anchor(models.Model):
    """A signed statement of an organisation's chains: see collection.chain.statements.

    ``named``: the organisation as it was called then, with the salt of its digest; None where the statement
    tells it in clear.
    """

    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="anchors")
    number = models.PositiveIntegerField()
    at = models.DateTimeField()
    statement = models.JSONField()
    signature = models.CharField(max_length=SIGNATURE)
    named = models.JSONField(null=True)

    class Meta:
        ordering: ClassVar = ["-number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["organisation", "number"], name="one_statement_a_number"),
        ]

    def __str__(self) -> str:
        return f"Statement {self.number} of {self.at:%Y-%m-%d}, {self.organisation}"


class AnchoredHead(models.Model):
    """A chain's newest link as a statement has it, with the proof that leads to the statement's root.

    It repeats the link's number and digest, so that it still speaks when the link is gone.
    """

    anchor = models.ForeignKey(Anchor, models.PROTECT, related_name="heads")
    chain = models.ForeignKey(Chain, models.PROTECT, related_name="anchored")
    seq = models.PositiveIntegerField()
    head = models.CharField(max_length=DIGEST)
    place = models.PositiveIntegerField()
    proof = models.JSONField(default=list)

    class Meta:
        ordering: ClassVar = ["anchor", "place"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["anchor", "place"], name="one_head_a_place"),
            models.UniqueConstraint(fields=["anchor", "chain"], name="each_chain_once_a_statement"),
        ]

    def __str__(self) -> str:
        return f"{self.seq}: {self.head[:12]} in {self.anchor}"
