"""The note at the end of a shift, for whoever comes next."""

from datetime import datetime

from django.core.exceptions import ValidationError

from collection.models import Person, ShiftNote, Site

MOST_WORDS = 1000  # characters


def leave_note(*, site: Site, by: Person, words: str, at: datetime, idempotency_key: str) -> ShiftNote:
    """Keep a note; sent twice with one key it is one. ValidationError where it says nothing, or too much."""
    if not words.strip():
        raise ValidationError({"words": "Say in a few words what the next shift should know."})
    if len(words) > MOST_WORDS:
        raise ValidationError({"words": f"Make it shorter: at most {MOST_WORDS} characters."})
    note, _ = ShiftNote.objects.get_or_create(
        site=site, idempotency_key=idempotency_key, defaults={"by": by, "words": words.strip(), "at": at}
    )
    return note
