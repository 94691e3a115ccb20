"""What was done to keep the installation itself: its backups, and whether they can be restored."""

from typing import ClassVar

from django.db import models


class BackupRun(models.Model):
    """One try at a backup of the whole installation: where it lies, or what went wrong."""

    kind = models.CharField(max_length=20)
    started_at = models.DateTimeField()
    seconds = models.FloatField()
    host = models.CharField(max_length=255)
    file = models.CharField(max_length=1000, blank=True)
    size = models.PositiveBigIntegerField(default=0)  # bytes
    sha256 = models.CharField(max_length=64, blank=True)  # of the file, which may be encrypted
    error = models.CharField(max_length=500, blank=True)
    rehearsed_at = models.DateTimeField(null=True, blank=True)
    # what the rehearsal found wrong, or, where there is no time of one, why none was held
    rehearsal = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering: ClassVar = ["-started_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.kind}, {self.started_at:%Y-%m-%d %H:%M}"
