"""Links under which somebody without a sign-in reads one car's history, and who opened them."""

from typing import ClassVar

from django.db import models

from collection.models.people import Person
from collection.models.vehicles import Vehicle

TOKEN_DIGEST = 64  # hexadecimal digits of SHA-256
BROWSER = 200  # characters kept of what a browser calls itself


class ShareLink(models.Model):
    """What one reader may see of one car, until when. The token itself is shown once and never kept.

    A link whose maker was forgotten is closed: nobody is left who answers for it.
    """

    vehicle = models.ForeignKey(Vehicle, models.CASCADE, related_name="shares")
    made_by = models.ForeignKey(Person, models.SET_NULL, null=True, related_name="shares")
    made_at = models.DateTimeField()
    token_digest = models.CharField(max_length=TOKEN_DIGEST, unique=True)
    reader = models.CharField("for whom", max_length=120)
    first = models.DateField("from", null=True, blank=True)
    last = models.DateField("to", null=True, blank=True)
    with_owner = models.BooleanField("the owner's name", default=False)
    with_place = models.BooleanField("the place", default=False)
    with_prices = models.BooleanField("estimated costs", default=False)
    with_notes = models.BooleanField("notes as they were written", default=True)
    with_files = models.BooleanField("photographs and documents", default=False)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-made_at"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(first__isnull=True)
                | models.Q(last__isnull=True)
                | models.Q(last__gte=models.F("first")),
                name="share_from_before_to",
                violation_error_message="“To” is before “from”: check both dates.",
            ),
            models.CheckConstraint(
                condition=models.Q(expires_at__gt=models.F("made_at")),
                name="share_ends_after_it_began",
                violation_error_message="The link would end before it begins: choose a later day.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.vehicle} for {self.reader}"


class ShareOpening(models.Model):
    """One time that a link was opened; the address is cut short, so that it names a network, no person."""

    share = models.ForeignKey(ShareLink, models.CASCADE, related_name="openings")
    at = models.DateTimeField()
    what = models.CharField(max_length=20)
    network = models.CharField(max_length=45, blank=True)
    browser = models.CharField(max_length=BROWSER, blank=True)

    class Meta:
        ordering: ClassVar = ["-at"]

    def __str__(self) -> str:
        return f"{self.share}, {self.at:%Y-%m-%d %H:%M}"
