"""Tells managers by mail that an address is sent to no more."""

from django.conf import settings
from django.core.mail import EmailMessage
from django.urls import reverse

from collection.models import Webhook
from collection.notices.queries.webhooks import managers_of


def mail_switched_off(webhook: Webhook) -> None:
    """One mail to each manager; where no mail can be sent, the page says it."""
    if not settings.SENDS_MAIL:
        return
    page = settings.ADDRESS + reverse("webhook", args=[webhook.pk])
    for person in managers_of(webhook):
        EmailMessage(
            subject=f"{webhook.organisation}: “{webhook.name}” is told of changed dates no more",
            body=f"Messages to {webhook.address} did not arrive for three days, or it said that it is gone.\n"
            "Nothing more is sent there, and changes from now on are not kept for it.\n\n"
            f"See why, and switch it on again: {page}\n",
            to=[person.email],
        ).send()
