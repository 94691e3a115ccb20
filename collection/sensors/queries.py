"""Reading sensors: those of an organisation with what they last said, those that are to be made sense of."""

from collections.abc import Iterable

from django.db.models import QuerySet

from collection.models import Sensor
from collection.permissions import Access
from collection.web.sorting import Sorting

RELATED = ("site", "building__site", "vehicle__bay__building__site", "vehicle__organisation", "by")


def sensors_of(access: Access, order: Sorting) -> QuerySet[Sensor]:
    """Every sensor of the organisation, ended ones last."""
    return order.rows(access.sensors().select_related(*RELATED))


def with_something_new() -> Iterable[int]:
    """Keys of sensors with readings that are not yet hours."""
    return Sensor.objects.filter(readings__isnull=False).values_list("pk", flat=True).distinct()


def sensor(pk: int) -> Sensor | None:
    """One, with its place and who answers for it."""
    return Sensor.objects.select_related(*RELATED).filter(pk=pk).first()
