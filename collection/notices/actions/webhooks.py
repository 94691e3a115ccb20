"""Addresses that are told of changed dates: made, given a new secret, switched off and on, ended, sent to."""

import json
import random
from collections.abc import Callable
from datetime import datetime, timedelta
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.host.sending import Answered, NotSent, fault_of_address, post
from collection.models import Delivery, DueChange, Organisation, Person, Webhook
from collection.notices.signatures import OLD_SECRET_FOR, headers_for
from collection.web.faults import check

MOST_WEBHOOKS = 10  # policy: an organisation
# The example schedule of the Standard Webhooks specification 1.0.0, "Deliverability and reliability";
# its 5 seconds become the minute in which our sweep comes round.
PAUSES = (
    timedelta(minutes=1),
    timedelta(minutes=5),
    timedelta(minutes=30),
    timedelta(hours=2),
    timedelta(hours=5),
    timedelta(hours=10),
    timedelta(hours=14),
    timedelta(hours=20),
    timedelta(hours=24),
)
JITTER = 0.1  # policy: a share of the pause, so that not all come at once
LEASE = timedelta(minutes=2)  # longer than one try takes: until then no other worker tries
AT_ONCE = 100  # messages a job sends to one address
KEPT_FOR = timedelta(days=30)  # policy: how long deliveries can be looked at and sent again
GONE = 410
TEST = "test"

Post = Callable[..., Answered]
Tell = Callable[[Webhook], None]


def make_webhook(
    *, organisation: Organisation, name: str, address: str, by: Person, now: datetime
) -> Webhook:
    """A new address; its secret is ``collection.notices.signatures.secret_of``, to be shown once."""
    hook = Webhook(organisation=organisation, name=name, address=address, made_by=by, made_at=now)
    fault = fault_of_address(address)
    check(hook, {"address": fault} if fault else {})
    if organisation.webhooks.count() >= MOST_WEBHOOKS:
        raise ValidationError(f"There are {MOST_WEBHOOKS} addresses already: end one first.")
    hook.save()
    return hook


@transaction.atomic
def renew_secret(*, webhook: Webhook, now: datetime) -> Webhook:
    """A new secret; for a day messages are signed with the old one too."""
    hook = Webhook.objects.select_for_update().get(pk=webhook.pk)
    hook.secret_number += 1
    hook.old_secret_until = now + OLD_SECRET_FOR
    hook.save(update_fields=["secret_number", "old_secret_until"])
    return hook


def switch_off(*, webhook: Webhook, because: str, now: datetime) -> bool:
    """Send no more; what changes meanwhile is not kept for it. Whether it was on."""
    on = Webhook.objects.filter(pk=webhook.pk, off_at__isnull=True)
    return bool(on.update(off_at=now, off_because=because))


@transaction.atomic
def switch_on(*, webhook: Webhook, now: datetime) -> None:
    """Send again, what waited first."""
    Webhook.objects.filter(pk=webhook.pk).update(off_at=None, off_because="", failing_since=None)
    webhook.deliveries.filter(state=Delivery.State.WAITING).update(next_at=now, tries=0)


def end_webhook(*, webhook: Webhook) -> None:
    """Forget the address and what was on its way to it."""
    webhook.delete()


@transaction.atomic
def send_test(*, webhook: Webhook, now: datetime) -> Delivery:
    """Put a message on its way that says nothing but that it is a test."""
    message = {
        "type": TEST,
        "timestamp": now.isoformat().replace("+00:00", "Z"),
        "data": {"webhook": webhook.name},
    }
    body = json.dumps(message, ensure_ascii=False, separators=(",", ":"))
    change = DueChange.objects.create(organisation=webhook.organisation, vehicle=None, at=now, body=body)
    return Delivery.objects.create(webhook=webhook, change=change, next_at=now)


def send_again(*, delivery: Delivery, now: datetime) -> None:
    """Put a message on its way once more, under its old id."""
    Delivery.objects.filter(pk=delivery.pk).update(state=Delivery.State.WAITING, tries=0, next_at=now)


def send_what_waits(webhook_pk: UUID, *, clock: Callable[[], datetime], tell: Tell, send: Post = post) -> int:
    """Send an address what is due for it, oldest first, until something fails; returns how many arrived.

    Safe to run twice at once: each try is claimed first. ``tell`` hears of an address switched off.
    """
    arrived = 0
    for pk in _due(webhook_pk, clock())[:AT_ONCE]:
        now = clock()
        delivery = _claim(pk, now)
        if delivery is None:
            continue
        if not _try(delivery, now, tell, send):
            break
        arrived += 1
    return arrived


def _due(webhook_pk: UUID, now: datetime) -> list[int]:
    rows = Delivery.objects.filter(
        webhook=webhook_pk, webhook__off_at__isnull=True, state=Delivery.State.WAITING, next_at__lte=now
    )
    return list(rows.order_by("change__at", "pk").values_list("pk", flat=True))


def _claim(pk: int, now: datetime) -> Delivery | None:
    """The delivery for one try, unless another worker has it; a worker that dies loses it after the lease."""
    mine = Delivery.objects.filter(pk=pk, state=Delivery.State.WAITING, next_at__lte=now)
    if not mine.update(next_at=now + LEASE):
        return None
    return Delivery.objects.select_related("webhook", "change").get(pk=pk)


def _try(delivery: Delivery, now: datetime, tell: Tell, send: Post) -> bool:
    hook, body = delivery.webhook, delivery.change.body.encode()
    try:
        answer = send(
            hook.address, body, headers_for(hook, message_id=str(delivery.change_id), now=now, body=body)
        )
    except NotSent as fault:
        _failed(delivery, str(fault), now, tell, gone=False)
        return False
    outcome = f"answered {answer.status}"
    if not answer.took_it:
        _failed(delivery, outcome, now, tell, gone=answer.status == GONE)
        return False
    with transaction.atomic():
        _note(delivery, outcome, now, state=Delivery.State.DELIVERED)
        Webhook.objects.filter(pk=hook.pk, failing_since__isnull=False).update(failing_since=None)
    return True


def _failed(delivery: Delivery, outcome: str, now: datetime, tell: Tell, *, gone: bool) -> None:
    """Try again after a pause; after the last, or when told to go, switch the address off."""
    hook, give_up = delivery.webhook, gone or delivery.tries >= len(PAUSES)
    with transaction.atomic():
        Webhook.objects.filter(pk=hook.pk, failing_since__isnull=True).update(failing_since=now)
        if give_up:
            _note(delivery, outcome, now, state=Delivery.State.GIVEN_UP)
        else:
            pause = PAUSES[delivery.tries] * (1 + JITTER * random.random())  # noqa: S311 - no secret
            _note(delivery, outcome, now, next_at=now + pause)
        off = give_up and switch_off(
            webhook=hook, because=f"{outcome}, {delivery.tries + 1} times"[:200], now=now
        )
    if off:
        tell(hook)


def _note(delivery: Delivery, outcome: str, now: datetime, **more: object) -> None:
    """Write down one try."""
    tried = Delivery.objects.filter(pk=delivery.pk)
    tried.update(tries=delivery.tries + 1, last_at=now, last_said=outcome[:200], **more)


def forget_old_changes(*, now: datetime) -> int:
    """Delete messages, with their deliveries, that are older than anybody looks at."""
    return DueChange.objects.filter(at__lt=now - KEPT_FOR).delete()[0]
