"""How people come in: by an invitation that they accept."""

from typing import ClassVar

from django.db import models

from collection.models.organisations import Organisation
from collection.models.people import Person, Role
from collection.models.places import Site

DIGEST = 64  # hexadecimal digits of SHA-256


class Invitation(models.Model):
    """A link by which whoever has the address becomes a member, once. The secret in it is not kept."""

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="invitations")
    email = models.EmailField("e-mail address")
    role = models.CharField(max_length=10, choices=Role)
    sites: "models.ManyToManyField[Site, models.Model]" = models.ManyToManyField(
        Site, blank=True, related_name="+", verbose_name="keys at"
    )
    digest = models.CharField(max_length=DIGEST, unique=True)
    # without a name from the other side: what one has sent names others, and is in nobody's own file
    by = models.ForeignKey(Person, models.SET_NULL, null=True, related_name="+")
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    accepted_by = models.ForeignKey(Person, models.CASCADE, null=True, blank=True, related_name="invitations")

    class Meta:
        ordering: ClassVar = ["-made_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.email} to {self.organisation}"
