"""Rows of bays as the layout of a floor takes them."""

from collections.abc import Iterable, Sequence

from collection.drawing.floor import Rect, Spot
from collection.models import Bay


def rect_of(bay: Bay) -> Rect | None:
    """Where a bay lies, if somebody arranged it."""
    left, door, width, depth = bay.from_left_m, bay.from_door_m, bay.width_m, bay.depth_m
    if left is None or door is None or width is None or depth is None:
        return None
    return Rect(left, door, width, depth)


def spots_of(bays: Iterable[tuple[Bay, Sequence[int]]]) -> list[Spot]:
    """Bays, each with those that must be empty before it."""
    return [Spot(bay.pk, bay.row, bay.place, fronts, rect_of(bay)) for bay, fronts in bays]
