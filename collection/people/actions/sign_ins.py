"""From where people sign in: kept, compared with before."""

from datetime import datetime, timedelta

from django.db import transaction

from collection.models import Person, SignIn
from collection.models.sign_ins import BROWSER

KEPT = timedelta(days=400)  # policy: over a year, so that a browser of last winter is still known
MOST = 200  # policy: of one person


@transaction.atomic
def note_sign_in(*, person: Person, device: str, network: str, browser: str, now: datetime) -> SignIn:
    """Write a sign-in down; the first of all is not called new, there is nothing to compare it with."""
    before = SignIn.objects.filter(person=person)
    known = before.exists()
    made = SignIn.objects.create(
        person=person,
        at=now,
        device=device,
        network=network,
        browser=browser.replace("\0", "")[:BROWSER],
        new_device=known and not before.filter(device=device).exists(),
        new_network=known and not before.filter(network=network).exists(),
    )
    old = before.filter(at__lt=now - KEPT) | before.filter(
        pk__in=list(before.values_list("pk", flat=True)[MOST:])
    )
    old.delete()
    return made


def is_known(*, email: str, device: str) -> bool:
    """Whether somebody has signed in with this address from this browser before."""
    return bool(device) and SignIn.objects.filter(person__email=email, device=device).exists()
