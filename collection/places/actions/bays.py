"""Rows of bays, and which bay must be empty before another can be driven out."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.care.actions.record import Edit
from collection.care.actions.settings import settings_recorded
from collection.models import Bay, Building

MOST_AT_ONCE = 60  # policy: a longer row is a slip of the thumb


@dataclass(frozen=True)
class Row:
    """A row of bays to paint on the floor: what each of them has."""

    row: str
    first: int
    last: int
    power_outlet: bool
    exhaust_extraction: bool
    nose_to_tail: bool


@transaction.atomic
def add_bays(*, building: Building, row: Row, edit: Edit) -> list[Bay]:
    """Add the bays of a row that are not there yet; nose to tail, each is blocked by the one before.

    Raises ValidationError when the places are out of order or all of them exist.
    """
    _check_row(row)
    existing = {bay.place: bay for bay in building.bays.filter(row=row.row)}
    added = [_bay(building, row, place) for place in range(row.first, row.last + 1) if place not in existing]
    if not added:
        raise ValidationError({"last": "All of these bays are there already: give other places."})
    with settings_recorded([building.site], edit):
        for bay in added:
            bay.full_clean()
            bay.save()
        if row.nose_to_tail:
            _stand_nose_to_tail(existing | {bay.place: bay for bay in added}, row)
    return added


def _check_row(row: Row) -> None:
    if row.first < 1:
        raise ValidationError({"first": "Places count from 1."})
    if row.last < row.first:
        raise ValidationError({"last": "The last place is before the first: give the larger number here."})
    if row.last - row.first >= MOST_AT_ONCE:
        raise ValidationError({"last": f"That is more than {MOST_AT_ONCE} bays: add them in parts."})


def _bay(building: Building, row: Row, place: int) -> Bay:
    return Bay(
        building=building,
        row=row.row,
        place=place,
        power_outlet=row.power_outlet,
        exhaust_extraction=row.exhaust_extraction,
    )


def _stand_nose_to_tail(bays: dict[int, Bay], row: Row) -> None:
    for place in range(row.first + 1, row.last + 1):
        check_blocking(bay=bays[place], blocked_by=[bays[place - 1], *bays[place].blocked_by.all()])
        bays[place].blocked_by.add(bays[place - 1])


def check_blocking(*, bay: Bay, blocked_by: Sequence[Bay]) -> None:
    """Refuse a bay that blocks itself, one of another building, and a circle of any length."""
    if bay in blocked_by:
        raise ValidationError({"blocked_by": f"{bay.label} cannot block itself: take it out."})
    if strangers := [other for other in blocked_by if other.building_id != bay.building_id]:
        text = f"{strangers[0]} is in another building: choose bays of this one."
        raise ValidationError({"blocked_by": text})
    links = Bay.blocked_by.through.objects.filter(from_bay__building=bay.building).exclude(from_bay=bay)
    pairs = links.values_list("from_bay_id", "to_bay_id")
    if circle := _circle([*pairs, *((bay.pk, other.pk) for other in blocked_by)]):
        labels = {other.pk: other.label for other in Bay.objects.filter(pk__in=circle)}
        way = " behind ".join(labels[pk] for pk in reversed(circle))
        text = f"These bays block each other in a circle, so none could be driven out: {way}. Take one out."
        raise ValidationError({"blocked_by": text})


def _circle(pairs: Iterable[tuple[int, int]]) -> list[int]:
    """A closed way along the pairs (blocked, blocker), first repeated last; empty when there is none."""
    sorter: TopologicalSorter[int] = TopologicalSorter()
    for blocked, blocker in pairs:
        sorter.add(blocked, blocker)
    try:
        sorter.prepare()
    except CycleError as fault:
        circle: list[int] = fault.args[1]
        return circle
    return []
