"""Writing down keys, alarms and addresses."""

from collection.models import CarNotes, SiteNotes
from collection.web.faults import check


def save_private(*, notes: CarNotes | SiteNotes) -> None:
    """Save the private notes of a car or a site; ValidationError names what is wrong."""
    check(notes, {})
    notes.save()
