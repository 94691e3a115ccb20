"""Tokens for programmes: made by a member for themselves, ended at once, counted as they are used."""

import hashlib
import secrets
from collections.abc import Sequence
from datetime import datetime, timedelta

from django.core.exceptions import ValidationError
from django.db.models import Case, F, Value, When

from collection.models import ApiToken, Membership
from collection.models.api import PREFIX
from collection.permissions import CAPABILITIES, SCOPES
from collection.web.faults import check

MARK = "lst_"  # so that a token left lying about is known for what it is
SECRET_BYTES = 32  # 256 bits from the system's source: not to be guessed, so misses need no counting
MOST_TOKENS = 20  # policy: open ones a member
MOST_A_MINUTE = 300  # policy: five a second, far above a script that reads a barn


def digest_of(secret: str) -> str:
    """What is kept of a secret."""
    return hashlib.sha256(secret.encode()).hexdigest()


def make_token(
    *, membership: Membership, name: str, scopes: Sequence[str], expires_at: datetime | None, now: datetime
) -> tuple[ApiToken, str]:
    """A new token and its secret, which nobody can be told again.

    ValidationError for a scope that the member's own role does not allow.
    """
    secret = MARK + secrets.token_urlsafe(SECRET_BYTES)
    token = ApiToken(
        membership=membership,
        name=name,
        prefix=secret[:PREFIX],
        digest=digest_of(secret),
        scopes=sorted(set(scopes)),
        made_at=now,
        expires_at=expires_at,
    )
    faults = {}
    if not scopes:
        faults["scopes"] = "Choose at least one thing that it may do."
    elif [scope for scope in scopes if scope not in allowed_scopes(membership.role)]:
        faults["scopes"] = "Your role does not allow this: choose from the list."
    if expires_at is not None and expires_at <= now:
        faults["expires_at"] = "This day is past: choose a later day."
    check(token, faults)
    if membership.api_tokens.filter(ended_at__isnull=True).count() >= MOST_TOKENS:
        raise ValidationError(f"You have {MOST_TOKENS} tokens: end one first.")
    token.save()
    return token, secret


def allowed_scopes(role: str) -> dict[str, str]:
    """What somebody of a role may give to a token, with the words for it."""
    return {scope: words for scope, (words, needed) in SCOPES.items() if needed in CAPABILITIES[role]}


def end_token(*, token: ApiToken, now: datetime) -> None:
    """End a token at once; ended before, it keeps its first day."""
    ApiToken.objects.filter(pk=token.pk, ended_at__isnull=True).update(ended_at=now)


def use_token(*, secret: str, now: datetime) -> ApiToken | None:
    """The token of a secret, with this use counted in ``used_in_minute``; None where there is none."""
    minute = now.replace(second=0, microsecond=0)
    row = ApiToken.objects.filter(digest=digest_of(secret))
    again = When(minute=minute, then=F("used_in_minute") + 1)
    if not row.update(used_in_minute=Case(again, default=Value(1)), minute=minute, last_used_at=now):
        return None
    return row.select_related("membership__person", "membership__organisation").first()


def used_too_often(token: ApiToken) -> bool:
    """Whether the minute's share is used up."""
    return token.used_in_minute > MOST_A_MINUTE


def seconds_to_wait(now: datetime) -> int:
    """Until the next minute begins."""
    return int((now.replace(second=0, microsecond=0) + timedelta(minutes=1) - now).total_seconds()) + 1
