"""Where a car stands follows from its moves: a logged move changes the bay, a corrected one mends it."""

from typing import Any

from django.core.exceptions import ValidationError

from collection.care.actions.floor import free_place
from collection.care.draft import Draft
from collection.care.queries.clock import CLOCK_BEHIND
from collection.care.queries.record import stands_in
from collection.models import Bay, CareKind, Entry, Vehicle
from collection.models.care import CLAIM_SKEW

# written by us, not by who logs
FILLED_IN = ("from_bay", "from_bay_label", "to_bay_label", CLAIM_SKEW, CLOCK_BEHIND)


def with_places(draft: Draft) -> dict[str, Any]:
    """The details with the places of a move filled in, so that the log reads by itself for ever."""
    details = dict(draft.details)
    if draft.kind != CareKind.MOVED:
        return details
    start = _start(draft)
    label = str(start) if start else ""
    to = _bay(details.get("to_bay"))
    if to:
        to = free_place(to, draft.vehicle)
        details["to_bay"] = to.pk
    filled = {"from_bay": start.pk if start else None, "from_bay_label": label}
    if to or details["wheels_only"]:
        filled["to_bay_label"] = str(to) if to else label
    return details | filled


def _start(draft: Draft) -> Bay | None:
    """Where the car was moved from; a correction starts where the corrected move did."""
    if draft.corrects is None:
        return draft.vehicle.bay
    return _bay(draft.corrects.details.get("from_bay"))


def _bay(pk: int | None) -> Bay | None:
    """The bay with its building and site; None if it is none, or has since been taken out."""
    bays = Bay.objects.select_related("building__site")
    return bays.filter(pk=pk).first() if pk is not None else None


def move_car(entry: Entry) -> None:
    """Put the car where its record and its standing moves say that it stands at last.

    A move that is withdrawn and was the first thing known puts it back to where it was moved from.
    """
    moved = entry.corrects or entry
    if moved.kind != CareKind.MOVED:
        return
    stood = stands_in(entry.vehicle)
    _stand(entry.vehicle, stood[-1].value if stood else moved.details.get("from_bay"))


def _stand(car: Vehicle, bay: int | None) -> None:
    if car.bay_id == bay:
        return
    require_free(bay, car)
    car.bay = _bay(bay)
    car.save(update_fields=["bay"])


def require_free(bay: int | None, car: Vehicle) -> None:
    """Refuse a bay in which another car stands."""
    if bay is None:
        return
    Bay.objects.select_for_update().filter(pk=bay).first()  # two cars race for one bay: one waits
    taken = Vehicle.objects.filter(bay=bay, left_on__isnull=True).exclude(pk=car.pk).first()
    if taken:
        raise ValidationError({"to_bay": f"{taken} stands in that bay: choose a free one, or move it first."})
