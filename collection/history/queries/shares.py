"""Links by their token, and the links of a car with who opened them."""

from datetime import datetime

from django.db.models import Count, Max, QuerySet

from collection.models import ShareLink, ShareOpening, Vehicle

NEWEST_OPENINGS = 50  # shown of each car; the counts are of all


def share_of(digest: str) -> ShareLink | None:
    """The link with this digest of its token, whatever its state."""
    related = ("vehicle__owner__person", "vehicle__bay__building__site__climate", "vehicle__organisation")
    return ShareLink.objects.select_related(*related, "made_by").filter(token_digest=digest).first()


def is_open(share: ShareLink, now: datetime) -> bool:
    """Whether the link may still be read."""
    return share.revoked_at is None and share.made_by_id is not None and now < share.expires_at


def shares_of(vehicle: Vehicle) -> QuerySet[ShareLink]:
    """A car's links, newest first, with how often and when last opened."""
    counted = vehicle.shares.select_related("made_by")
    return counted.annotate(times=Count("openings"), last_at=Max("openings__at")).order_by("-made_at")


def openings_of(vehicle: Vehicle) -> QuerySet[ShareOpening]:
    """The openings of a car's links, the newest first."""
    openings = ShareOpening.objects.filter(share__vehicle=vehicle).select_related("share")
    return openings.order_by("-at")
