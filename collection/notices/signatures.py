"""Secrets and signatures of webhooks by the open Standard Webhooks form, version 1.0.0.

Source: Standard Webhooks specification 1.0.0 (standardwebhooks.com), "Signature scheme": HMAC-SHA256
over ``{id}.{timestamp}.{body}``, secrets as ``whsec_`` with base64, signatures as ``v1,`` with base64,
several of them, by blanks, while a secret is being changed.
"""

import hashlib
import hmac
from base64 import b64decode, b64encode
from datetime import datetime, timedelta

from django.conf import settings

from collection.models import Webhook

SECRET_MARK, SIGNATURE_MARK = "whsec_", "v1,"
OLD_SECRET_FOR = timedelta(hours=24)  # policy: a day to put the new secret in place


def secret_of(webhook: Webhook, number: int | None = None) -> str:
    """The secret of a webhook, the present one by default.

    It is derived from the installation's own secret, so that a copy of the database signs nothing.
    """
    what = f"longstand webhook {webhook.pk} {number or webhook.secret_number}"
    made = hmac.digest(settings.SECRET_KEY.encode(), what.encode(), hashlib.sha256)
    return SECRET_MARK + b64encode(made).decode()


def signature(secret: str, *, message_id: str, timestamp: int, body: bytes) -> str:
    """One signature of a message."""
    key = b64decode(secret.removeprefix(SECRET_MARK))
    made = hmac.digest(key, f"{message_id}.{timestamp}.".encode() + body, hashlib.sha256)
    return SIGNATURE_MARK + b64encode(made).decode()


def headers_for(webhook: Webhook, *, message_id: str, now: datetime, body: bytes) -> dict[str, str]:
    """What goes with a message; signed with the old secret too as long as it holds."""
    timestamp = int(now.timestamp())
    secrets = [secret_of(webhook)]
    if webhook.old_secret_until and webhook.old_secret_until > now:
        secrets.append(secret_of(webhook, webhook.secret_number - 1))
    signed = [signature(each, message_id=message_id, timestamp=timestamp, body=body) for each in secrets]
    return {
        "content-type": "application/json",
        "webhook-id": message_id,
        "webhook-timestamp": str(timestamp),
        "webhook-signature": " ".join(signed),
    }
