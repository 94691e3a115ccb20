"""What is found on a car that stood too long, what its own handbook says, and what work costs here."""

import uuid
from typing import ClassVar

from django.db import models

from collection.models.attachments import Attachment
from collection.models.chain import Link
from collection.models.people import Person
from collection.models.vehicles import Vehicle


class Grade(models.IntegerChoices):
    """How a piece of evidence is known, the best first; the first needs the document itself."""

    DOCUMENT = 1, "A document made at the time by a third party"
    RECORD = 2, "A record made at the time, with a reading or photo"
    STATEMENT = 3, "A statement made later"
    INFERENCE = 4, "Inferred from the car"


class Evidence(models.Model):
    """One find that says something about when the car last moved, ran, was driven or attended.

    Only grows: a wrong one is replaced by a new row that names it; a ``withdrawn`` row says that the
    other should never have been written. ``answers`` are the questions of its kind answered yes. ``document``
    is a file of the car's log. ``link`` is its place in the car's chain.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    vehicle = models.ForeignKey(Vehicle, models.PROTECT, related_name="evidence")
    kind = models.CharField(max_length=30)
    on = models.DateField(null=True, blank=True)
    until = models.DateField(null=True, blank=True)
    odometer_km = models.FloatField(null=True, blank=True)
    code = models.CharField(max_length=12, blank=True)
    count = models.PositiveIntegerField(null=True, blank=True)
    event = models.CharField(max_length=12, blank=True)
    answers = models.JSONField(default=list, blank=True)
    hard = models.BooleanField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)
    grade = models.PositiveSmallIntegerField("how it is known", choices=Grade, null=True, blank=True)
    document = models.ForeignKey(Attachment, models.PROTECT, null=True, blank=True, related_name="evidence")
    withdrawn = models.BooleanField(default=False)
    corrects = models.OneToOneField(
        "self", models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )
    by = models.ForeignKey(Person, models.PROTECT, related_name="evidence")
    recorded_at = models.DateTimeField()
    idempotency_key = models.CharField(max_length=64)
    link = models.OneToOneField(Link, models.PROTECT, null=True, blank=True, related_name="evidence")
    chained_at = models.DateTimeField(null=True, blank=True)  # where that was after it was written down

    class Meta:
        ordering: ClassVar = ["recorded_at", "pk"]
        verbose_name_plural = "evidence"
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["vehicle", "idempotency_key"], name="evidence_sent_twice_stored_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind}, {self.vehicle}"


class Damp(models.TextChoices):
    """How damp it was where the car stood."""

    UNKNOWN = "", "Not known"
    DRY = "dry", "Dry: heated or well aired, no bloom or rust"
    MIXED = "mixed", "Damp in winter, dry in summer"
    DAMP = "damp", "Damp: bare earth, leaks, moss, bloom on metal"


class RecommissionCase(models.Model):
    """How the car was put away, as far as anybody knows; what slows or hastens trouble."""

    vehicle = models.OneToOneField(Vehicle, models.CASCADE, related_name="recommission_case")
    known_preparation = models.BooleanField(
        "known to have been prepared for storage",
        default=False,
        help_text="Somebody wrote down what was done when it was put away.",
    )
    damp = models.CharField("where it stood", max_length=6, choices=Damp, blank=True)
    conditions = models.JSONField(default=list, blank=True)

    def __str__(self) -> str:
        return f"How {self.vehicle} was put away"


class HandbookValue(models.Model):
    """This car's own value for one check of the plan, in the check's unit; it alone then passes."""

    vehicle = models.ForeignKey(Vehicle, models.CASCADE, related_name="handbook_values")
    check_key = models.CharField(max_length=40)
    low = models.FloatField()
    high = models.FloatField()
    source = models.CharField(max_length=200)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["vehicle", "check_key"], name="one_handbook_value_a_check")
        ]

    def __str__(self) -> str:
        return f"{self.check_key}: {self.low:g} to {self.high:g}"
