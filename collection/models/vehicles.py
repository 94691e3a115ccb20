"""The car itself, who owns it, where it stands and how it is kept."""

from functools import partial
from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from collection.models.choices import (
    body_kinds,
    built_with,
    fuel_systems,
    regime_kinds,
    tank_materials,
    ventings,
)
from collection.models.organisations import Organisation
from collection.models.people import Owner
from collection.models.places import Bay


class Vehicle(models.Model):
    """A stored car. What nobody knows stays empty: an assumption is made and named, never a zero."""

    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="vehicles")
    owner = models.ForeignKey(Owner, models.PROTECT, related_name="vehicles")
    bay = models.ForeignKey(Bay, models.PROTECT, null=True, blank=True, related_name="vehicles")
    marque = models.CharField(max_length=60)
    model = models.CharField(max_length=60)
    year = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MinValueValidator(1885), MaxValueValidator(2100)]
    )
    body = models.CharField("kind of body", max_length=15, choices=body_kinds, blank=True)
    photograph = models.ForeignKey(
        "Attachment", models.SET_NULL, null=True, blank=True, related_name="+"
    )  # the one that pages show of the car, of those in its log
    registration = models.CharField(max_length=20, blank=True)
    chassis_number = models.CharField(max_length=40, blank=True)
    engine = models.CharField(max_length=80, blank=True)
    fuel_system = models.CharField(max_length=25, choices=fuel_systems, blank=True)
    tank_litres = models.FloatField(
        "tank, litres", null=True, blank=True, validators=[MinValueValidator(1), MaxValueValidator(1000)]
    )
    tank_material = models.CharField(max_length=15, choices=tank_materials, blank=True)
    tank_venting = models.CharField(max_length=10, choices=ventings, blank=True)
    system_volts = models.PositiveSmallIntegerField(
        "electrical system", null=True, blank=True, choices=[(6, "6 V"), (12, "12 V"), (24, "24 V")]
    )
    # what it is built with: scheduler.vocabulary.machine; empty is not known
    earth = models.CharField("earth side", max_length=20, choices=partial(built_with, "earth"), blank=True)
    generator = models.CharField(max_length=20, choices=partial(built_with, "generator"), blank=True)
    ignition = models.CharField(max_length=20, choices=partial(built_with, "ignition"), blank=True)
    cooling = models.CharField(max_length=20, choices=partial(built_with, "cooling"), blank=True)
    gearbox = models.CharField(max_length=20, choices=partial(built_with, "gearbox"), blank=True)
    cam = models.CharField("camshaft drive", max_length=20, choices=partial(built_with, "cam"), blank=True)
    gas = models.CharField("gas system", max_length=20, choices=partial(built_with, "gas"), blank=True)
    steering = models.CharField(max_length=20, choices=partial(built_with, "steering"), blank=True)
    suspension = models.CharField(max_length=20, choices=partial(built_with, "suspension"), blank=True)
    regime = models.CharField("care regime", max_length=10, choices=regime_kinds, default="exercised")
    stored_since = models.DateField("in storage since", null=True, blank=True)
    on_stands = models.BooleanField("wheels off the ground, on stands", default=False)
    assumed = models.CharField(max_length=200, blank=True, editable=False)  # see ``assumed_fields``
    notes = models.TextField(blank=True, max_length=2000)
    left_on = models.DateField("left storage on", null=True, blank=True)
    # brought in by mistake and taken back with its table: on no list from then on, but its chain stays
    taken_back_on = models.DateField("taken back on", null=True, blank=True, editable=False)

    class Meta:
        ordering: ClassVar = ["marque", "model", "year"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["bay"],
                condition=models.Q(left_on__isnull=True),
                name="one_car_a_bay",
                violation_error_message="There is already a car in that bay: choose a free one.",
            ),
        ]
        indexes: ClassVar = [
            models.Index(
                fields=["organisation"], condition=models.Q(left_on__isnull=True), name="cars_in_storage"
            )
        ]

    def __str__(self) -> str:
        return " ".join(str(part) for part in (self.year, self.marque, self.model) if part)

    @property
    def assumed_fields(self) -> frozenset[str]:
        """Names of the columns that hold what is usual for its kind of car, and that nobody has looked at."""
        return frozenset(self.assumed.split())

    @property
    def fuel_system_known(self) -> str:
        """Its fuel system where somebody knows it, else ""."""
        return "" if "fuel_system" in self.assumed_fields else self.fuel_system

    @property
    def system_volts_known(self) -> int | None:
        """The volts of its electrics where somebody knows them."""
        return None if "system_volts" in self.assumed_fields else self.system_volts


class LastEvent(models.TextChoices):
    """Five different last times; a start is not a full-warm run, a move is not a drive."""

    ROAD_USE = "road_use", "Road use"
    ENGINE_RUN = "engine_run", "Engine run"
    FULL_WARM = "full_warm", "Full-warm run"
    MOVED = "moved", "Moved"
    ATTENDED = "attended", "Attended"


class Basis(models.TextChoices):
    """How a date is known."""

    CARE_LOG = "care_log", "Our own care log"
    DOCUMENT = "document", "A document of the time"
    OWNER = "owner", "The owner's word"
    INFERRED = "inferred", "Inferred from the car"


class LastUse(models.Model):
    """When one of the five events last happened before our own log began, and how that is known."""

    vehicle = models.ForeignKey(Vehicle, models.CASCADE, related_name="last_uses")
    event = models.CharField(max_length=12, choices=LastEvent)
    on = models.DateField()
    basis = models.CharField("how it is known", max_length=12, choices=Basis)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["vehicle", "event"], name="each_last_event_once")
        ]

    def __str__(self) -> str:
        return f"{self.get_event_display()} {self.on}"
