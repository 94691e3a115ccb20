"""Buildings with all that their air is computed from."""

from django.db.models import QuerySet

from collection.models import Building
from collection.permissions import Access


def buildings_with_air(access: Access) -> QuerySet[Building]:
    """Buildings and yards in the order of the round, with the climates of site and loggers."""
    return (
        access.buildings()
        .select_related("site__climate__measured__site", "measured__climate")
        .prefetch_related("site__climate__months", "measured__climate__months")
        .order_by("site__name", "site", "walk_order", "name")
    )
