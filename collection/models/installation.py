"""What every machine of an installation must agree on."""

from django.db import models


class SharedKey(models.Model):
    """A key that every machine needs the same of, known here by its fingerprint only."""

    name = models.CharField(max_length=20, primary_key=True)
    fingerprint = models.CharField(max_length=64)

    def __str__(self) -> str:
        return self.name
