"""The photographs of a history as they go into its paper: small, newest first, that of the car before all."""

import io
from dataclasses import dataclass

from PIL import Image, UnidentifiedImageError

from collection.care.queries.attachments import bytes_of
from collection.history.story import Story
from collection.models import Attachment
from collection.web.templatetags.longstand import day

MOST_PICTURES = 12  # policy: a paper that can still be mailed; all are on the page
LONGEST_SIDE, QUALITY = 900, 78  # pixels at 17 cm print 130 a inch; about 100 kB


@dataclass(frozen=True)
class Picture:
    """A photograph, small, and what it is of."""

    alt: str
    data: bytes


def pictures(story: Story) -> list[Picture]:
    """What the reader may see and what is still as it came."""
    of = [(file, doing) for doing in reversed(story.doings) for file in doing.files if file.is_picture]
    of.sort(key=lambda pair: pair[0].pk != story.vehicle.photograph_id)
    found = []
    for file, doing in of[:MOST_PICTURES]:
        if small := _small(file):
            found.append(Picture(f"{file.name}, with the entry of {day(doing.day)}: {doing.title}", small))
    return found


def _small(file: Attachment) -> bytes | None:
    data, out = bytes_of(file), io.BytesIO()
    try:
        with Image.open(io.BytesIO(data or b""), formats=("JPEG",)) as picture:
            picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
            picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
            picture.convert("RGB").save(out, "JPEG", quality=QUALITY)
    except (UnidentifiedImageError, OSError):
        return None
    return out.getvalue()
