"""Every car with how much of its life is written down."""

from django.db.models import Count, Max, Min, Q, QuerySet

from collection.cars.queries import TEXT_FIELDS
from collection.models import CareKind, Vehicle
from collection.permissions import Access


def histories_listed(access: Access, text: str = "") -> QuerySet[Vehicle]:
    """Cars, those that left too, with ``begun``, ``latest`` and how many ``written`` entries stand."""
    cars = access.vehicles().select_related("owner")
    for word in text.split():
        holds = Q()
        for name in TEXT_FIELDS:
            holds |= Q(**{f"{name}__icontains": word})
        cars = cars.filter(holds)
    standing = Q(entries__corrected_by__isnull=True) & ~Q(entries__kind=CareKind.WITHDRAWN)
    return cars.annotate(
        begun=Min("entries__done_at", filter=standing),
        latest=Max("entries__done_at", filter=standing),
        written=Count("entries", filter=standing),
    ).order_by("marque", "model", "year", "pk")
