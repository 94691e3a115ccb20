"""What a recompute changed in a car's duties, written down for those who asked to be told.

It is written in the transaction of the change: either both stand or neither, so that nothing is lost
when a process dies, and nothing is told that did not happen.
"""

import json
from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any

from collection.life.duties import DUTY_TITLES, state_of
from collection.life.first_states import first_state_of
from collection.models import Delivery, DueChange, DutyRow, Vehicle, Webhook

DUTIES_CHANGED = "duties.changed"
DutyState = dict[str, Any]


def listeners(pks: Sequence[int]) -> list[Webhook]:
    """The addresses that are told of changes to any of these cars."""
    if not pks:
        return []
    first = Vehicle.objects.filter(pk=pks[0]).values("organisation")  # a recompute is of one organisation
    return list(Webhook.objects.filter(organisation__in=first, off_at__isnull=True))


def rows_before(pks: Sequence[int]) -> list[DutyRow]:
    """The duties as they stood; whoever computes holds the cars, so that no two tell the same change."""
    return list(DutyRow.objects.filter(vehicle__in=pks))


def note_changes(
    hooks: Sequence[Webhook],
    before: Iterable[DutyRow],
    after: Iterable[DutyRow],
    *,
    today: date,
    now: datetime,
) -> None:
    """A change for each car whose duties changed, on its way to each address."""
    changed = _changed(before, after, today)
    cars = Vehicle.objects.filter(pk__in=changed).order_by("pk")
    changes = [
        DueChange(
            organisation_id=car.organisation_id, vehicle=car, at=now, body=_body(car, changed[car.pk], now)
        )
        for car in cars
    ]
    DueChange.objects.bulk_create(changes, batch_size=500)
    Delivery.objects.bulk_create(
        (Delivery(webhook=hook, change=change, next_at=now) for change in changes for hook in hooks),
        batch_size=500,
    )


def _changed(before: Iterable[DutyRow], after: Iterable[DutyRow], today: date) -> dict[int, list[DutyState]]:
    """By car: what its duties were and are, where they differ."""
    old = {(row.vehicle_id, row.duty): row for row in before}
    changed: dict[int, list[DutyState]] = defaultdict(list)
    for row in after:
        was = old.get((row.vehicle_id, row.duty))
        then = _state_of(was, was.computed_for) if was else None
        now = _state_of(row, today)
        if then != now:
            changed[row.vehicle_id].append(
                {"duty": row.duty, "title": row.title or DUTY_TITLES[row.duty], "before": then, "after": now}
            )
    return changed


def _state_of(row: DutyRow, day: date) -> DutyState:
    """A duty as it is told; its state is that of the day it was worked out for."""
    return {
        "state": first_state_of(row, day),
        "urgency": state_of(row, day),
        "early_on": _day(row.early),
        "due_on": _day(row.due),
        "late_on": _day(row.late),
        "hold": row.hold or None,
    }


def _day(value: date | None) -> str | None:
    return value.isoformat() if value else None


def _body(car: Vehicle, changes: list[DutyState], now: datetime) -> str:
    """The message: see the reference of the API, which describes it."""
    data = {"car_id": car.pk, "car": str(car), "changes": changes}
    message = {"type": DUTIES_CHANGED, "timestamp": now.isoformat().replace("+00:00", "Z"), "data": data}
    return json.dumps(message, ensure_ascii=False, separators=(",", ":"))
