"""What keepers decided of one duty, in place of our models: at one car, or for a kind of car.

The rules of a car are part of its record, and so entries of its chain. Those of a kind are written on each
car of the kind, so that each car's past counts by what applied on its day.
"""

from typing import ClassVar

from django.core.exceptions import ValidationError
from django.db import models

from collection.models.choices import duty_codes, regime_kinds
from collection.models.organisations import Organisation
from collection.models.people import Person
from collection.models.vehicles import Vehicle
from scheduler.vocabulary.errors import BadInput
from scheduler.vocabulary.intervals import NEVER, SAY, interval_days


def check_interval(text: str) -> None:
    """ValidationError where an interval is none that the core reads."""
    try:
        if text != NEVER:
            interval_days(text)
    except BadInput as fault:
        raise ValidationError(f"This is no interval: {SAY}.") from fault


class DutyRule(models.Model):
    """Another interval ("24 months", or "never": not for this car), a day before which it is not asked for,
    a day until which it is put off; each with its reason. Nothing decided is empty."""

    duty = models.CharField(max_length=20, choices=duty_codes)
    interval = models.CharField("own interval", max_length=20, blank=True, validators=[check_interval])
    not_before = models.DateField("not before", null=True, blank=True)
    reason = models.CharField("reason", max_length=200, blank=True)
    put_off_until = models.DateField("put off until", null=True, blank=True)
    put_off_reason = models.CharField("reason for putting it off", max_length=200, blank=True)
    by = models.ForeignKey(Person, models.SET_NULL, null=True, blank=True, related_name="%(class)ss")
    since = models.DateField()

    class Meta:
        abstract = True

    @property
    def is_empty(self) -> bool:
        """Whether nothing is decided, so that our models apply."""
        return not (self.interval or self.not_before or self.put_off_until)


class KindRule(DutyRule):
    """A rule for every car of a kind: those to which all that is filled in applies."""

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="kind_rules")
    marque = models.CharField("make", max_length=60, blank=True)
    model = models.CharField(max_length=60, blank=True)
    regime = models.CharField("kept", max_length=10, choices=regime_kinds, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["organisation", "duty", "marque", "model", "regime"],
                name="each_duty_of_a_kind_once",
                violation_error_message="This kind has a rule of this duty already: change that one.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.duty} of {self.kind_words}"

    @property
    def kind_words(self) -> str:
        """The kind as a person says it."""
        return ", ".join(filter(None, (f"{self.marque} {self.model}".strip(), self._kept)))

    @property
    def _kept(self) -> str:
        return str(self.get_regime_display()).partition(":")[0].lower()


class CarRule(DutyRule):
    """A rule for one car; ``kind`` where it came with one for a kind of car."""

    vehicle = models.ForeignKey(Vehicle, models.CASCADE, related_name="rules")
    kind = models.ForeignKey(KindRule, models.SET_NULL, null=True, blank=True, related_name="cars")

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["vehicle", "duty"], name="each_duty_of_a_car_once")
        ]

    def __str__(self) -> str:
        return f"{self.duty} of {self.vehicle}"
