"""Writing down where the bays of a building lie on its floor."""

from collections.abc import Mapping

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.drawing.floor import Rect
from collection.models import Bay, Building
from collection.web.faults import check_rows

FIELDS = ("from_left_m", "from_door_m", "width_m", "depth_m")


@transaction.atomic
def arrange_bays(*, building: Building, rects: Mapping[int, Rect]) -> None:
    """Put bays of the building where the rectangles say; ValidationError names ``key-field`` of a bay.

    Two bays that would lie over each other are refused, and nothing is written.
    """
    bays = list(building.bays.filter(pk__in=rects))
    for bay in bays:
        rect = rects[bay.pk]
        bay.from_left_m, bay.from_door_m = rect.left, rect.from_door
        bay.width_m, bay.depth_m = rect.width, rect.depth
    check_rows((str(bay.pk), bay, {}) for bay in bays)
    for at, bay in enumerate(bays):
        for other in bays[at + 1 :]:
            if rects[bay.pk].overlaps(rects[other.pk]):
                text = f"{bay.label} lies over {other.label}: move one of them."
                raise ValidationError({f"{bay.pk}-from_left_m": text})
    Bay.objects.bulk_update(bays, FIELDS)


def lay_out_again(*, building: Building) -> None:
    """Forget where the bays lie: they are drawn by row and place."""
    building.bays.update(**dict.fromkeys(FIELDS))
