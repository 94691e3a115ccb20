"""Addresses that are told of changed dates, and what is on its way to them."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Count, Q, QuerySet

from collection.models import Delivery, Membership, Person, Role, Webhook
from collection.permissions import Access


def webhooks(access: Access) -> QuerySet[Webhook]:
    """The organisation's addresses with how many messages wait for each (``waiting``)."""
    waiting = Count("deliveries", filter=Q(deliveries__state=Delivery.State.WAITING))
    return (
        access.webhooks()
        .select_related("made_by")
        .annotate(waiting=waiting)
        .order_by("name", "made_at", "pk")
    )


def deliveries_of(webhook: Webhook) -> QuerySet[Delivery]:
    """Deliveries to an address, latest change first."""
    return webhook.deliveries.select_related("change__vehicle").order_by("-change__at", "-pk")


def with_something_due(now: datetime) -> list[UUID]:
    """The addresses for which a message is due."""
    due = Delivery.objects.filter(
        state=Delivery.State.WAITING, next_at__lte=now, webhook__off_at__isnull=True
    )
    return list(due.order_by("webhook").values_list("webhook", flat=True).distinct())


def managers_of(webhook: Webhook) -> list[Person]:
    """Whoever is told when an address is switched off."""
    members = Membership.objects.filter(
        organisation=webhook.organisation_id, role=Role.MANAGER, person__is_active=True
    )
    return [member.person for member in members.select_related("person").order_by("pk")]


def open_tokens(access: Access) -> QuerySet[Any]:
    """One's own tokens here, newest first."""
    member = Membership.objects.get(person=access.person, organisation=access.organisation)
    return member.api_tokens.annotate(written=Count("writes")).order_by("-made_at")
