"""Computed rows: may be deleted and rebuilt at any time; nobody types into them."""

from typing import ClassVar

from django.db import models

from collection.models.organisations import Organisation
from collection.models.vehicles import Vehicle


class DutyRow(models.Model):
    """One duty of one car as last computed: when, with which models, from which conditions."""

    vehicle = models.ForeignKey(Vehicle, models.CASCADE, related_name="duties")
    duty = models.CharField(max_length=20)
    early = models.DateField(null=True)
    due = models.DateField(null=True)
    late = models.DateField(null=True)
    limit = models.CharField(max_length=120, blank=True)
    hold = models.CharField(max_length=200, blank=True)
    assumed = models.BooleanField()
    title = models.CharField(max_length=60, blank=True, default="")  # of one that a keeper added
    minutes = models.PositiveSmallIntegerField(null=True)  # of work at the car, where its keeper said
    unknown = models.BooleanField(default=False)  # the record gives nothing that a date could count from
    computed_for = models.DateField()
    computed_at = models.DateTimeField()
    models_version = models.PositiveIntegerField()
    fingerprint = models.CharField(max_length=64)

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["vehicle", "duty"], name="each_duty_once")]
        indexes: ClassVar = [models.Index(fields=["due"], name="duty_by_date")]

    def __str__(self) -> str:
        return f"{self.duty} of {self.vehicle}: {self.due}"


class CarSummary(models.Model):
    """What presses most at one car, and how much, summed up from its duties as of a day.

    A long list is put in order and counted by these rows, without reading twelve times as many.
    ``computed_for`` and ``models_version`` are those of the duties; ``summed_for`` is the day on
    which their states were looked at. ``rank`` and ``due`` are the place and the one date of its most urgent
    duty (``life.duties``); ``due`` is the last day of the calendar where none is known.
    """

    vehicle = models.OneToOneField(Vehicle, models.CASCADE, related_name="summary")
    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="+")
    rank = models.PositiveSmallIntegerField()
    due = models.DateField()
    duty = models.CharField(max_length=20)
    act_now = models.PositiveSmallIntegerField()
    this_week = models.PositiveSmallIntegerField()
    this_month = models.PositiveSmallIntegerField()
    unknown = models.PositiveSmallIntegerField()
    on_hold = models.PositiveSmallIntegerField()
    computed_for = models.DateField()
    models_version = models.PositiveIntegerField()
    summed_for = models.DateField()

    class Meta:
        verbose_name_plural = "car summaries"
        indexes: ClassVar = [
            models.Index(
                fields=["organisation", "rank", "due", "duty", "vehicle"], name="most_pressing_first"
            ),
            models.Index(
                fields=[
                    "vehicle",
                    "computed_for",
                    "models_version",
                    "act_now",
                    "this_week",
                    "this_month",
                    "unknown",
                    "on_hold",
                ],
                name="pressing_counted",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.vehicle}: {self.duty}"


class ForecastRun(models.Model):
    """One recompute of an organisation's fleet: how long, how many cars, what went wrong.

    It is stored before any work is done, with its parts, so that no loss of a job, a worker or a queue
    loses the work: whatever is not done stays written down as not done.
    """

    class State(models.TextChoices):
        RUNNING = "running", "running"
        DONE = "done", "done"
        REPLACED = "replaced", "replaced by a later run"

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="runs")
    started_at = models.DateTimeField()
    seconds = models.FloatField(null=True)  # from being asked for to its end; empty while it runs
    state = models.CharField(max_length=10, choices=State.choices, default=State.DONE)
    nudged_at = models.DateTimeField(null=True)  # when workers were last asked to work on it
    cars = models.PositiveIntegerField(default=0)
    errors = models.JSONField(default=list)
    trigger = models.CharField(max_length=40)

    class Meta:
        ordering: ClassVar = ["-started_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["organisation"], condition=models.Q(state="running"), name="one_run_at_a_time"
            )
        ]

    def __str__(self) -> str:
        return f"{self.organisation}, {self.started_at:%Y-%m-%d %H:%M}"


class RunPart(models.Model):
    """A few cars of a run, computed by one worker in one transaction; gone when the run has ended."""

    run = models.ForeignKey(ForecastRun, models.CASCADE, related_name="parts")
    first_car = models.BigIntegerField()
    last_car = models.BigIntegerField()
    done_at = models.DateTimeField(null=True)
    cars = models.PositiveIntegerField(default=0)
    errors = models.JSONField(default=list)

    def __str__(self) -> str:
        return f"cars {self.first_car} to {self.last_car} of {self.run}"
