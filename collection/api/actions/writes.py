"""A write that is sent twice under one key is done once and answered the same."""

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from collection.models import ApiToken, ApiWrite

KEPT_FOR = timedelta(days=30)  # policy: nobody sends again after that; entries keep their key for ever
KEY_OF_ANOTHER = "This key was already used for a different request: send a new key."

Answer = Mapping[str, Any]


@dataclass(frozen=True)
class Sent:
    """Who sent what under which key."""

    token: ApiToken
    key: str
    path: str
    body: bytes

    @property
    def digest(self) -> str:
        """What tells this request from another."""
        return hashlib.sha256(self.path.encode() + b"\n" + self.body).hexdigest()

    @property
    def entry_key(self) -> str:
        """The key under which the care log stores it: of the member, so that a new token changes nothing."""
        return hashlib.sha256(f"{self.token.membership_id} {self.key}".encode()).hexdigest()[:50]


def once(sent: Sent, act: Callable[[], tuple[int, Answer]], *, now: datetime) -> tuple[int, Answer]:
    """Do ``act`` and keep its status and answer, or give those kept; all in one transaction.

    What ``act`` refuses is not kept: the same key may be sent again. Of two at the same moment the
    second waits at the unique key for the first, and gets its answer.
    """
    with transaction.atomic():
        write, is_new = _claim(sent, now)
        if not is_new:
            return write.status, write.answer
        status, answer = act()
        ApiWrite.objects.filter(pk=write.pk).update(status=status, answer=answer)
    return status, answer


def _claim(sent: Sent, now: datetime) -> tuple[ApiWrite, bool]:
    try:
        with transaction.atomic():
            return ApiWrite.objects.create(
                token=sent.token, key=sent.key, digest=sent.digest, path=sent.path[:200], at=now
            ), True
    except IntegrityError:
        earlier = ApiWrite.objects.get(token=sent.token, key=sent.key)
    if earlier.digest != sent.digest:
        raise ValidationError({"Idempotency-Key": KEY_OF_ANOTHER})
    return earlier, False


def forget_old_writes(*, now: datetime) -> int:
    """Delete what is kept longer than anybody sends again."""
    return ApiWrite.objects.filter(at__lt=now - KEPT_FOR).delete()[0]
