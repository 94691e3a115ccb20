"""Addresses that are told when a car's dates change, what they are told, and whether it arrived."""

import uuid
from typing import ClassVar

from django.db import models

from collection.models.organisations import Organisation
from collection.models.people import Person
from collection.models.vehicles import Vehicle


class Webhook(models.Model):
    """One address; its secret is derived from ``id`` and ``secret_number`` by ``notices.signatures``."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="webhooks")
    made_by = models.ForeignKey(Person, models.SET_NULL, null=True, related_name="webhooks")
    made_at = models.DateTimeField()
    name = models.CharField("what it is for", max_length=80)
    address = models.URLField(max_length=400)
    secret_number = models.PositiveIntegerField(default=1)
    old_secret_until = models.DateTimeField(null=True, blank=True)
    failing_since = models.DateTimeField(null=True, blank=True)
    off_at = models.DateTimeField(null=True, blank=True)
    off_because = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["name", "made_at"]

    def __str__(self) -> str:
        return self.name


class DueChange(models.Model):
    """What changed in one car's duties at one recompute; written with the change, in its transaction."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="due_changes")
    vehicle = models.ForeignKey(Vehicle, models.CASCADE, null=True, related_name="due_changes")
    at = models.DateTimeField()
    body = models.TextField(help_text="The JSON as it is sent, byte for byte.")

    class Meta:
        ordering: ClassVar = ["-at"]

    def __str__(self) -> str:
        return f"{self.vehicle}, {self.at:%Y-%m-%d %H:%M}"


class Delivery(models.Model):
    """One change on its way to one address."""

    class State(models.TextChoices):
        """How far it has come."""

        WAITING = "waiting", "Waiting"
        DELIVERED = "delivered", "Delivered"
        GIVEN_UP = "given_up", "Given up"

    webhook = models.ForeignKey(Webhook, models.CASCADE, related_name="deliveries")
    change = models.ForeignKey(DueChange, models.CASCADE, related_name="deliveries")
    state = models.CharField(max_length=10, choices=State, default=State.WAITING)
    tries = models.PositiveSmallIntegerField(default=0)
    next_at = models.DateTimeField()
    last_at = models.DateTimeField(null=True, blank=True)
    last_said = models.CharField(max_length=200, blank=True)

    class Meta:
        verbose_name_plural = "deliveries"
        ordering: ClassVar = ["-change__at", "-pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["webhook", "change"], name="each_change_once_an_address")
        ]
        indexes: ClassVar = [models.Index(fields=["state", "next_at"], name="delivery_by_time")]

    def __str__(self) -> str:
        return f"{self.change} to {self.webhook}"
