"""Photographs and documents that came with an entry of the care log: they only grow, like the log."""

import uuid
from typing import ClassVar

from django.db import models

from collection.models.care import Entry

DIGEST = 64  # hexadecimal digits of SHA-256


class Attachment(models.Model):
    """A file as it was cleaned and stored; the bytes lie in the media folder under their digest."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="attachments")
    number = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=100)
    type = models.CharField(max_length=30)
    size = models.PositiveIntegerField()
    digest = models.CharField(max_length=DIGEST)

    class Meta:
        ordering: ClassVar = ["number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["entry", "number"], name="one_attachment_a_number")
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_picture(self) -> bool:
        """Whether a page can show it."""
        return self.type.startswith("image/")
