"""Tokens under which a programme speaks for a member, and what it has written under a key."""

from typing import ClassVar

from django.db import models

from collection.models.people import Membership

DIGEST = 64  # hexadecimal digits of SHA-256
PREFIX = 12  # characters of a token's secret that stay readable, to tell one from another
KEY = 100  # characters of an Idempotency-Key


class ApiToken(models.Model):
    """What one programme may do for one member, until when. The secret is shown once and never kept.

    It hangs on the membership, so that it goes with it, and never does more than the role allows now.
    """

    membership = models.ForeignKey(Membership, models.CASCADE, related_name="api_tokens")
    name = models.CharField("what it is for", max_length=80)
    prefix = models.CharField(max_length=PREFIX)
    digest = models.CharField(max_length=DIGEST, unique=True)
    scopes = models.JSONField(default=list)
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    last_used_at = models.DateTimeField(null=True, blank=True)
    minute = models.DateTimeField(null=True, blank=True)
    used_in_minute = models.PositiveIntegerField(default=0)

    class Meta:
        verbose_name = "API token"
        ordering: ClassVar = ["-made_at"]

    def __str__(self) -> str:
        return f"{self.name} ({self.prefix}…)"


class ApiWrite(models.Model):
    """One write that was answered, so that the same key is answered the same again; also who and when."""

    token = models.ForeignKey(ApiToken, models.CASCADE, related_name="writes")
    key = models.CharField(max_length=KEY)
    digest = models.CharField(max_length=DIGEST)
    path = models.CharField(max_length=200)
    at = models.DateTimeField()
    status = models.PositiveSmallIntegerField(default=0)
    answer = models.JSONField(default=dict)

    class Meta:
        verbose_name = "API write"
        ordering: ClassVar = ["-at"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["token", "key"], name="one_write_a_key")]

    def __str__(self) -> str:
        return f"{self.path} by {self.token}"
