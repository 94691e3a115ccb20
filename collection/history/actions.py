"""Sharing one car's history by link: made, ended, opened. The token is shown once and kept as a digest."""

import hashlib
import secrets
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from collection.models import Person, ShareLink, ShareOpening, Vehicle
from collection.models.shares import BROWSER
from collection.web.faults import check

TOKEN_BYTES = 32  # 256 bits from the system's source: not to be guessed
LONGEST = timedelta(days=366)  # policy: a link that is forgotten ends by itself within a year


def digest_of(token: str) -> str:
    """What is kept of a token."""
    return hashlib.sha256(token.encode()).hexdigest()


@transaction.atomic
def make_share(
    *, vehicle: Vehicle, by: Person, now: datetime, expires_at: datetime, scope: Mapping[str, Any]
) -> tuple[ShareLink, str]:
    """A new link and its token, which nobody can be told again; ``scope`` holds the link's own fields."""
    token = secrets.token_urlsafe(TOKEN_BYTES)
    share = ShareLink(vehicle=vehicle, made_by=by, made_at=now, expires_at=expires_at, **scope)
    share.token_digest = digest_of(token)
    faults = {}
    if expires_at > now + LONGEST:
        faults["expires_at"] = "A link lasts a year at most: choose an earlier day."
    check(share, faults)
    share.save()
    return share, token


def revoke_share(*, share: ShareLink, now: datetime) -> None:
    """End a link at once; ended before, it keeps its first day."""
    if share.revoked_at is None:
        share.revoked_at = now
        share.save(update_fields=["revoked_at"])


def revoke_all(*, vehicle: Vehicle, now: datetime) -> int:
    """End every link of a car, as when it leaves our hands."""
    return vehicle.shares.filter(revoked_at__isnull=True).update(revoked_at=now)


def note_opening(*, share: ShareLink, what: str, now: datetime, network: str, browser: str) -> None:
    """Write down that a link was opened."""
    browser = browser.replace("\0", "")[:BROWSER]
    ShareOpening.objects.create(share=share, what=what, at=now, network=network, browser=browser)
