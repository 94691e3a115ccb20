"""From where somebody has signed in."""

from typing import ClassVar

from django.db import models

from collection.models.people import Person

DIGEST = 64  # hexadecimal digits of SHA-256
BROWSER = 200  # characters kept of what a browser calls itself


class SignIn(models.Model):
    """One sign-in; the address is cut short to its network, the device known by a digest of its cookie."""

    person = models.ForeignKey(Person, models.CASCADE, related_name="sign_ins")
    at = models.DateTimeField()
    device = models.CharField(max_length=DIGEST)
    network = models.CharField(max_length=45, blank=True)
    browser = models.CharField(max_length=BROWSER, blank=True)
    new_device = models.BooleanField(default=False)
    new_network = models.BooleanField(default=False)

    class Meta:
        verbose_name = "sign-in"
        ordering: ClassVar = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.person}, {self.at:%Y-%m-%d %H:%M}"
