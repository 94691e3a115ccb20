"""Duties that keepers add: papers to renew and work of their own, with a day or an interval."""

import uuid
from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models

from collection.models.choices import own_kinds
from collection.models.people import Person
from collection.models.rules import check_interval
from collection.models.vehicles import Vehicle
from scheduler.vocabulary.own_duties import OTHER, OWN_KIND, PAPER


def new_ref() -> str:
    """What names an own duty for ever, also where the car goes next."""
    return uuid.uuid4().hex[:12]


class OwnDuty(models.Model):
    """One of one car. ``due_on`` counts until it is logged done after ``dated_at`` (None: at any time).
    Then the interval does.

    ``begun``: what an interval counts from before it was ever done. ``ended_on``: asked for no longer.
    """

    vehicle = models.ForeignKey(Vehicle, models.CASCADE, related_name="own_duties")
    ref = models.CharField(
        max_length=12, default=new_ref, editable=False, validators=[RegexValidator(r"\A[0-9a-f]{12}\Z")]
    )
    kind = models.CharField(max_length=20, choices=own_kinds)
    title = models.CharField("what", max_length=60)
    due_on = models.DateField("due on", null=True, blank=True)
    dated_at = models.DateTimeField(null=True, blank=True, editable=False)
    interval = models.CharField("again every", max_length=20, blank=True, validators=[check_interval])
    begun = models.DateField(editable=False)
    remind_days = models.PositiveSmallIntegerField(
        "days of warning", default=30, validators=[MaxValueValidator(366)]
    )
    minutes = models.PositiveSmallIntegerField(
        "minutes at the car", null=True, blank=True, validators=[MinValueValidator(1), MaxValueValidator(480)]
    )
    note = models.CharField(max_length=200, blank=True)
    ended_on = models.DateField("no longer asked for since", null=True, blank=True)
    by = models.ForeignKey(Person, models.SET_NULL, null=True, blank=True, related_name="own_duties")

    class Meta:
        verbose_name_plural = "own duties"
        ordering: ClassVar = ["title", "pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["vehicle", "ref"], name="each_own_duty_once")
        ]

    def __str__(self) -> str:
        return f"{self.title} of {self.vehicle}"

    @property
    def code(self) -> str:
        """What it is called where the codes of duties stand."""
        row = OWN_KIND.get(self.kind)
        return f"{PAPER if row and row.paper else OTHER}-{self.ref}"
