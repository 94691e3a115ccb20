"""Where cars stand: sites with their climate, buildings and yards, bays."""

from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from collection.models.choices import shelters
from collection.models.organisations import Organisation

TEMPERATURE = [MinValueValidator(-50), MaxValueValidator(50)]
SHARE = [MinValueValidator(0), MaxValueValidator(100)]
FARTHEST_M, NARROWEST_M, WIDEST_M = 500.0, 1.0, 30.0  # policy: beyond them it is a slip of the thumb
ALONG = [MinValueValidator(0), MaxValueValidator(FARTHEST_M)]
ACROSS = [MinValueValidator(NARROWEST_M), MaxValueValidator(WIDEST_M)]


class Climate(models.Model):
    """Twelve months of outside air; without an organisation it is a generic type for everyone."""

    organisation = models.ForeignKey(
        Organisation, models.CASCADE, null=True, blank=True, related_name="climates"
    )
    name = models.CharField(max_length=80)
    basis = models.CharField(max_length=200, blank=True, help_text="Where the figures come from.")

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["organisation", "name"], name="one_climate_of_a_name", nulls_distinct=False
            )
        ]

    def __str__(self) -> str:
        return self.name


class ClimateMonth(models.Model):
    """A month's normal air outside."""

    climate = models.ForeignKey(Climate, models.CASCADE, related_name="months")
    month = models.PositiveSmallIntegerField(validators=[MinValueValidator(1), MaxValueValidator(12)])
    mean_c = models.FloatField("mean °C", validators=TEMPERATURE)
    min_c = models.FloatField("mean daily minimum °C", validators=TEMPERATURE)
    max_c = models.FloatField("mean daily maximum °C", validators=TEMPERATURE)
    humidity_pct = models.FloatField("mean relative humidity %", validators=SHARE)

    class Meta:
        ordering: ClassVar = ["month"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["climate", "month"], name="each_month_once"),
            models.CheckConstraint(
                condition=models.Q(min_c__lte=models.F("mean_c"), mean_c__lte=models.F("max_c")),
                name="minimum_mean_maximum_in_order",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.climate}, month {self.month}"


class Site(models.Model):
    """A place with one climate and one time zone."""

    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="sites")
    name = models.CharField(max_length=80)
    time_zone = models.CharField(max_length=60, default="UTC")
    climate = models.ForeignKey(Climate, models.PROTECT, related_name="sites")
    coldest_yard_c = models.FloatField("no yard work below, °C", default=-5, validators=TEMPERATURE)

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["organisation", "name"], name="one_site_of_a_name")
        ]

    def __str__(self) -> str:
        return self.name


class Building(models.Model):
    """A building or a yard."""

    site = models.ForeignKey(Site, models.PROTECT, related_name="buildings")
    name = models.CharField(max_length=80)
    shelter = models.CharField(max_length=20, choices=shelters)
    walk_order = models.PositiveSmallIntegerField(
        "walking order", default=1, help_text="1 is visited first on the weekly round."
    )
    heated_to_c = models.FloatField("heated to °C", null=True, blank=True, validators=TEMPERATURE)
    humidity_ceiling_pct = models.FloatField("humidity kept below %", null=True, blank=True, validators=SHARE)

    class Meta:
        ordering: ClassVar = ["site", "walk_order", "name"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["site", "name"], name="one_building_of_a_name")
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.site}"


UNMARKED = ""  # the row of places on the floor that nobody painted


class Bay(models.Model):
    """A place for one car, named by its row and its place in the row.

    A car may stand in a building and in no bay of it: then it has a place of the row ``UNMARKED``, of which
    a building has the first from its beginning, and as many as cars stand there.
    """

    building = models.ForeignKey(Building, models.PROTECT, related_name="bays")
    row = models.CharField(max_length=10)
    place = models.PositiveSmallIntegerField("place in row", validators=[MinValueValidator(1)])
    blocked_by = models.ManyToManyField(
        "self",
        symmetrical=False,
        blank=True,
        related_name="blocks",
        help_text="Bays that must be empty before this one can be driven out.",
    )
    power_outlet = models.BooleanField(default=False)
    exhaust_extraction = models.BooleanField(default=False)
    # where it lies on the floor; without all four it is drawn where its row and place suggest
    from_left_m = models.FloatField("from the left wall, m", null=True, blank=True, validators=ALONG)
    from_door_m = models.FloatField("from the door wall, m", null=True, blank=True, validators=ALONG)
    width_m = models.FloatField("width, m", null=True, blank=True, validators=ACROSS)
    depth_m = models.FloatField("depth, m", null=True, blank=True, validators=ACROSS)

    class Meta:
        ordering: ClassVar = ["building", "row", "place"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["building", "row", "place"], name="one_bay_a_place"),
            models.CheckConstraint(
                condition=models.Q(
                    from_left_m__isnull=True,
                    from_door_m__isnull=True,
                    width_m__isnull=True,
                    depth_m__isnull=True,
                )
                | models.Q(
                    from_left_m__gte=0, from_door_m__gte=0, width_m__gte=NARROWEST_M, depth_m__gte=NARROWEST_M
                ),
                name="a_bay_lies_somewhere_or_nowhere",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.building.name}{' ' if self.is_marked else ', '}{self.label}"

    @property
    def is_marked(self) -> bool:
        """Whether it is a bay, rather than a place somewhere in the building."""
        return self.row != UNMARKED

    @property
    def label(self) -> str:
        """Row and place as painted on the floor."""
        return f"{self.row}{self.place}" if self.is_marked else "no bay"
