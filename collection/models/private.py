"""What a thief would like to read: sealed, apart from the record, granted by site, each showing kept."""

from typing import ClassVar

from django.db import models

from collection.models.organisations import Organisation
from collection.models.people import Membership, Person
from collection.models.places import Site
from collection.models.vehicles import Vehicle


class KeyGrant(models.Model):
    """A member may ask for the keys and alarms written down at one site."""

    membership = models.ForeignKey(Membership, models.CASCADE, related_name="key_grants")
    site = models.ForeignKey(Site, models.CASCADE, related_name="key_grants")
    given_by = models.ForeignKey(Person, models.SET_NULL, null=True, related_name="+")
    given_at = models.DateTimeField(
        null=True
    )  # None: a site to which they were assigned before there were grants

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["membership", "site"], name="one_key_grant_a_site")
        ]

    def __str__(self) -> str:
        return f"{self.membership.person}: keys at {self.site}"


class SiteNotes(models.Model):
    """Where a site is, how one gets in, and its alarm, sealed."""

    site = models.OneToOneField(Site, models.CASCADE, related_name="private")
    sealed = models.TextField(editable=False)

    class Meta:
        verbose_name_plural = "site notes"

    def __str__(self) -> str:
        return f"Private notes of {self.site}"


class CarNotes(models.Model):
    """Where a car's keys are and what guards it, sealed; ``site`` is where its grants are looked for.

    A car that moves takes its notes along, but not into the reach of another site: a manager releases them.
    """

    vehicle = models.OneToOneField(Vehicle, models.CASCADE, related_name="private")
    site = models.ForeignKey(
        Site, models.SET_NULL, null=True, related_name="car_notes"
    )  # None: managers only
    sealed = models.TextField(editable=False)

    class Meta:
        verbose_name_plural = "car notes"

    def __str__(self) -> str:
        return f"Private notes of {self.vehicle}"


class PrivateEvent(models.TextChoices):
    """What became of private notes."""

    SHOWN = "shown", "shown"
    WRITTEN = "written", "written down"
    RELEASED = "released", "released to another site"


class PrivateShowing(models.Model):
    """Who saw, wrote or released which notes, for the managers of the organisation that it was in."""

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="private_showings")
    person = models.ForeignKey(Person, models.SET_NULL, null=True, related_name="private_showings")
    what = models.CharField(max_length=10, choices=PrivateEvent)
    vehicle = models.ForeignKey(Vehicle, models.CASCADE, null=True, related_name="private_showings")
    site = models.ForeignKey(Site, models.SET_NULL, null=True, related_name="private_showings")
    at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.person}, {self.at:%Y-%m-%d %H:%M}"
