"""Who works at a site and with what: hours, days off, what stands ready, ways, chosen days."""

from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from collection.models.choices import equipment_kinds
from collection.models.people import Person
from collection.models.places import Building, Site
from collection.models.vehicles import Vehicle

DAY_MINUTES = [MaxValueValidator(24 * 60)]


class Weekday(models.IntegerChoices):
    """Monday first, as a calendar counts."""

    MONDAY = 0, "Monday"
    TUESDAY = 1, "Tuesday"
    WEDNESDAY = 2, "Wednesday"
    THURSDAY = 3, "Thursday"
    FRIDAY = 4, "Friday"
    SATURDAY = 5, "Saturday"
    SUNDAY = 6, "Sunday"


class OpeningHours(models.Model):
    """When work may be done on one weekday; a weekday without a row is closed."""

    site = models.ForeignKey(Site, models.CASCADE, related_name="opening_hours")
    weekday = models.PositiveSmallIntegerField(choices=Weekday)
    opens = models.TimeField()
    closes = models.TimeField()

    class Meta:
        ordering: ClassVar = ["weekday"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["site", "weekday"], name="each_weekday_once"),
            models.CheckConstraint(
                condition=models.Q(opens__lt=models.F("closes")), name="opens_then_closes"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_weekday_display()} {self.opens:%H:%M} to {self.closes:%H:%M}"


class Hand(models.Model):
    """One person's usual week at a site, minutes a day, and the duties that they may do."""

    site = models.ForeignKey(Site, models.CASCADE, related_name="hands")
    person = models.ForeignKey(Person, models.CASCADE, related_name="hands")
    monday = models.PositiveSmallIntegerField(default=0, validators=DAY_MINUTES)
    tuesday = models.PositiveSmallIntegerField(default=0, validators=DAY_MINUTES)
    wednesday = models.PositiveSmallIntegerField(default=0, validators=DAY_MINUTES)
    thursday = models.PositiveSmallIntegerField(default=0, validators=DAY_MINUTES)
    friday = models.PositiveSmallIntegerField(default=0, validators=DAY_MINUTES)
    saturday = models.PositiveSmallIntegerField(default=0, validators=DAY_MINUTES)
    sunday = models.PositiveSmallIntegerField(default=0, validators=DAY_MINUTES)
    may = models.JSONField("may do", default=list, blank=True)

    class Meta:
        ordering: ClassVar = ["person__name", "pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["site", "person"], name="one_week_a_person_and_site")
        ]

    def __str__(self) -> str:
        return f"{self.person} at {self.site}"

    @property
    def week(self) -> list[int]:
        """Minutes of each weekday, Monday first."""
        return [getattr(self, day.name.lower()) for day in Weekday]


class OtherHours(models.Model):
    """One day on which a person works other hours than usual; 0 is away."""

    site = models.ForeignKey(Site, models.CASCADE, related_name="other_hours")
    person = models.ForeignKey(Person, models.CASCADE, related_name="other_hours")
    day = models.DateField()
    minutes = models.PositiveSmallIntegerField(validators=DAY_MINUTES)

    class Meta:
        ordering: ClassVar = ["day", "person__name"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["site", "person", "day"], name="one_exception_a_day")
        ]

    def __str__(self) -> str:
        return f"{self.person}, {self.day}"


class Holiday(models.Model):
    """A day on which the site is closed."""

    site = models.ForeignKey(Site, models.CASCADE, related_name="holidays")
    day = models.DateField()
    name = models.CharField("why", max_length=60)

    class Meta:
        ordering: ClassVar = ["day"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["site", "day"], name="one_holiday_a_day")]

    def __str__(self) -> str:
        return f"{self.name}, {self.day}"


class StormDay(models.Model):
    """A day on which nobody works in the open, told by the weather report."""

    site = models.ForeignKey(Site, models.CASCADE, related_name="storm_days")
    day = models.DateField()

    class Meta:
        ordering: ClassVar = ["day"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["site", "day"], name="one_storm_a_day")]

    def __str__(self) -> str:
        return f"Storm, {self.day}"


class Equipment(models.Model):
    """How many of one kind a site has."""

    site = models.ForeignKey(Site, models.CASCADE, related_name="equipment")
    kind = models.CharField(max_length=20, choices=equipment_kinds)
    count = models.PositiveSmallIntegerField(validators=[MaxValueValidator(500)])

    class Meta:
        ordering: ClassVar = ["kind"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["site", "kind"], name="each_kind_once")]

    def __str__(self) -> str:
        return f"{self.count} × {self.kind}"


class Way(models.Model):
    """How long it takes from one building of a site to another, either way round."""

    start = models.ForeignKey(Building, models.CASCADE, related_name="ways_out")
    end = models.ForeignKey(Building, models.CASCADE, related_name="ways_in")
    minutes = models.PositiveSmallIntegerField(validators=[MinValueValidator(1), MaxValueValidator(240)])

    class Meta:
        ordering: ClassVar = ["start__walk_order", "end__walk_order"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["start", "end"], name="one_way_a_pair")]

    def __str__(self) -> str:
        return f"{self.start.name} to {self.end.name}"


class PinnedChoice(models.Model):
    """A day or a person that somebody chose for a task; it stands until the task is done."""

    vehicle = models.ForeignKey(Vehicle, models.CASCADE, related_name="pinned")
    duty = models.CharField(max_length=20)
    day = models.DateField(null=True, blank=True)
    person = models.ForeignKey(Person, models.CASCADE, null=True, blank=True, related_name="assigned")
    by = models.ForeignKey(Person, models.SET_NULL, null=True, related_name="+")
    chosen_at = models.DateTimeField()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["vehicle", "duty"], name="one_choice_a_task"),
            models.CheckConstraint(
                condition=models.Q(day__isnull=False) | models.Q(person__isnull=False),
                name="a_day_or_a_person_is_chosen",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.duty} of {self.vehicle}"


class ShiftNote(models.Model):
    """What somebody leaves for those who come after: words at a site, at the end of a shift."""

    site = models.ForeignKey(Site, models.CASCADE, related_name="shift_notes")
    by = models.ForeignKey(Person, models.CASCADE, related_name="shift_notes")
    at = models.DateTimeField()
    words = models.CharField(max_length=1000)
    idempotency_key = models.CharField(max_length=64)

    class Meta:
        ordering: ClassVar = ["-at", "-pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["site", "idempotency_key"], name="each_shift_note_once")
        ]

    def __str__(self) -> str:
        return f"{self.by}, {self.at:%Y-%m-%d}"
