"""Reading chains: what stands in none yet, and what came with a car from elsewhere."""

from django.db.models import F, Max, Prefetch, QuerySet

from collection.models import (
    Attachment,
    Chain,
    Entry,
    Link,
    Reading,
    Vehicle,
)


def with_readings(entries: QuerySet[Entry]) -> QuerySet[Entry]:
    """Entries with their readings and attachments in the order of the chain's canonical form."""
    readings = Prefetch("readings", Reading.objects.order_by("pk"))
    return entries.prefetch_related(readings, Prefetch("attachments", Attachment.objects.order_by("number")))


def unchained() -> QuerySet[Entry]:
    """Entries that stand in no chain yet, in the order in which they are to be chained."""
    return in_order(Entry.objects.filter(link__isnull=True))


def in_order(loose: QuerySet[Entry]) -> QuerySet[Entry]:
    """Entries in the order in which they are to be chained, with all that is chained of them."""
    corrected_first = F("corrects_id").asc(nulls_first=True)
    ordered = loose.order_by("vehicle_id", "recorded_at", corrected_first, "pk")
    return with_readings(ordered.select_related("vehicle"))


def brought_entries(vehicle: Vehicle) -> set[object]:
    """Entries that came with the car from another installation: keys of rows in them are not ours."""
    reach = Chain.objects.filter(vehicle=vehicle).aggregate(reach=Max("brought__seq"))["reach"]
    if not reach:
        return set()
    return set(Link.objects.filter(chain__vehicle=vehicle, seq__lte=reach).values_list("entry_id", flat=True))
