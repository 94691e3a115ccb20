"""Whether somebody else finished a task first, and what was stored under a key."""

from datetime import datetime

from collection.models import CareKind, Clash, Entry, Vehicle
from collection.models.care import effective
from scheduler.vocabulary.duties import DUTY, is_duty
from scheduler.vocabulary.own_duties import is_own


def answered_since(vehicle: Vehicle, kind: str, duty: str, seen: datetime) -> Entry | None:
    """The entry that did a task after somebody saw it open who now says it done, or not done."""
    if not is_duty(duty):
        return None
    answer = DUTY[duty].answered_by[0]
    about = {"own": duty} if is_own(duty) else answer.about
    if kind not in (answer.care, CareKind.NOT_DONE):
        return None
    entries = effective(Entry.objects.filter(vehicle=vehicle, kind=answer.care, recorded_at__gt=seen))
    entries = entries.filter(**{f"details__{key}": value for key, value in about.items()})
    return entries.select_related("by", "vehicle").order_by("recorded_at").first()


def stored_under(vehicle: Vehicle, key: str) -> Entry | None:
    """The entry that was stored under a key."""
    return Entry.objects.filter(vehicle=vehicle, idempotency_key=key).select_related("by").first()


def clash_under(vehicle: Vehicle, key: str) -> Clash | None:
    """The clash that was noted under a key."""
    clashes = Clash.objects.filter(entry__vehicle=vehicle, idempotency_key=key)
    return clashes.select_related("entry__by", "entry__vehicle", "by").first()
