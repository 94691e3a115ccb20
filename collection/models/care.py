"""The care log: it only grows. The database itself refuses to change or delete an entry."""

import uuid
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any, ClassVar

from django.db import models
from django.db.models import BooleanField, F, Func, QuerySet, Subquery

from collection.models.choices import CareKind, care_kinds, quantity_kinds
from collection.models.people import Person
from collection.models.vehicles import Vehicle

# The detail that says by how many seconds the clock that gave ``done_at`` ran ahead of ours.
CLAIM_SKEW = "claim_skew_s"


class Entry(models.Model):
    """One thing that happened to one car. Wrong entries are corrected by a new one that names them.

    ``details`` holds what the kind needs (minutes, litres, reasons) in SI units; what was measured
    stands in ``readings``. An entry that ``corrects`` another takes its place; a WITHDRAWN entry
    says that the other never happened.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    vehicle = models.ForeignKey(Vehicle, models.PROTECT, related_name="entries")
    kind = models.CharField(max_length=20, choices=care_kinds)
    done_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(Person, models.PROTECT, related_name="entries")
    details = models.JSONField(default=dict)
    note = models.TextField(blank=True, max_length=2000)
    corrects = models.OneToOneField(
        "self", models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )
    idempotency_key = models.CharField(max_length=64)

    class Meta:
        ordering: ClassVar = ["-done_at", "-recorded_at"]
        verbose_name_plural = "entries"
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["vehicle", "idempotency_key"], name="sent_twice_stored_once")
        ]
        indexes: ClassVar = [
            models.Index(fields=["vehicle", "kind", "-done_at"], name="entry_by_kind"),
            models.Index(fields=["done_at"], name="entry_by_day"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {self.vehicle}, {self.done_at:%Y-%m-%d}"

    @property
    def done_by_our_clock(self) -> datetime:
        """When it was done, with the clock of a phone that ran ahead or behind set right."""
        return self.done_at - timedelta(seconds=self.details.get(CLAIM_SKEW, 0))


class Reading(models.Model):
    """A measured value that belongs to an entry and shares its fate."""

    entry = models.ForeignKey(Entry, models.PROTECT, related_name="readings")
    quantity = models.CharField(max_length=25, choices=quantity_kinds)
    value = models.FloatField()
    position = models.CharField(max_length=12, blank=True)
    temperature_c = models.FloatField(null=True, blank=True)
    rest_hours = models.FloatField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return f"{self.get_quantity_display()} {self.value:g}"


class _Among(Func):
    """Whether a key is among those that a subquery gives.

    PostgreSQL is made to take these keys first and then each by the index. Left to join, it reads the
    readings of every car where it has no statistics yet, and for forty cars even where it has.
    """

    template, arg_joiner, output_field = "%(expressions)s", " IN ", BooleanField()

    def as_postgresql(self, compiler: Any, connection: Any, **context: Any) -> Any:
        """The keys as an array, whose length the planner takes for short."""
        shape = {"template": "%(expressions)s)", "arg_joiner": " = ANY(ARRAY"}
        return self.as_sql(compiler, connection, **shape, **context)


def readings_of(vehicles: Iterable[int | Vehicle]) -> QuerySet[Reading]:
    """What was measured at these cars, in entries that stand and in others."""
    entries = Entry.objects.filter(vehicle__in=vehicles).order_by()
    return Reading.objects.filter(_Among(F("entry"), Subquery(entries.values("pk"))))


def effective(entries: QuerySet[Entry]) -> QuerySet[Entry]:
    """Entries that still stand: not corrected by a later one, and not a withdrawal."""
    return entries.filter(corrected_by__isnull=True).exclude(kind=CareKind.WITHDRAWN)
