"""What a thief would like to read: kept apart from the record, so that no page shows it by accident."""

from django.db import models

from collection.models.places import Site
from collection.models.vehicles import Vehicle


class SiteNotes(models.Model):
    """Where a site is, how one gets in, and its alarm."""

    site = models.OneToOneField(Site, models.CASCADE, related_name="private")
    address = models.TextField(max_length=400, blank=True)
    way_in = models.TextField(
        "way in",
        max_length=1000,
        blank=True,
        help_text="Gates, locks, whom to ring. Better write no code.",
    )
    alarm = models.TextField(
        max_length=1000, blank=True, help_text="What to do when it sounds, and whom to call."
    )

    class Meta:
        verbose_name_plural = "site notes"

    def __str__(self) -> str:
        return f"Private notes of {self.site}"


class CarNotes(models.Model):
    """Where a car's keys are, and what keeps it from being driven off."""

    vehicle = models.OneToOneField(Vehicle, models.CASCADE, related_name="private")
    keys_at = models.CharField("keys", max_length=120, blank=True, help_text="Which safe, board or hook.")
    alarm = models.TextField(
        "alarm and immobiliser", max_length=1000, blank=True, help_text="Switches, fobs, what sets it off."
    )

    class Meta:
        verbose_name_plural = "car notes"

    def __str__(self) -> str:
        return f"Private notes of {self.vehicle}"
