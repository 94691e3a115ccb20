"""A photograph drawn anew: nothing hidden in the file comes along, and no file takes more than it says.

What it would take is known from its head, before anything is unpacked. JPEG is unpacked at a fraction of its
size where that is enough (ITU-T T.81: scaled inverse DCT); all else is made smaller strip by strip, so that
only the picture as unpacked is ever held whole.
"""

import io
import re
import warnings
from typing import Any

from PIL import Image

from collection.host.refusal import Refused

MOST_PIXELS = 60_000_000  # policy: above what most phones take
MOST_UNPACKED = 250_000_000  # bytes; policy: so many pixels in colour
LONGEST_SIDE_PX = 2400  # policy: a tyre's date code stays legible, a page stays light
SMALL_PX = 640  # policy: a tile on a phone of three dots a pixel
STRIP_PX = 64
QUALITY, SMALL_QUALITY = 85, 75  # policy: of JPEG, in per cent
FORMATS = ("JPEG", "PNG", "WEBP")
WEBP_BYTES = 12  # a pixel: the decoder keeps two canvases of four bytes beside the picture
TAKEN_AT, PLACE, TURNED = 0x9003, 0x8825, 0x0112  # Exif 2.3: DateTimeOriginal, GPS information, Orientation
EXIF, TAKEN = 0x8769, re.compile(r"\d{4}:\d\d:\d\d \d\d:\d\d:\d\d")
LATITUDE_AND_LONGITUDE = (1, 2, 3, 4)  # Exif 2.3: references and degrees
UPRIGHT = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
READ_NOT = "{name} is no photograph (JPEG, PNG, WebP) and no PDF, or it is damaged: choose another file."


def redrawn(name: str, data: bytes, *, keep_place: bool) -> bytes:
    """The picture as JPEG, upright, no side longer than LONGEST_SIDE_PX; Refused says why not."""
    picture, kept = opened(name, data, keep_place=keep_place)
    picture.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    paper = Image.new("RGB", picture.size, "white")
    paper.paste(picture, mask=picture.getchannel("A"))
    out = io.BytesIO()
    paper.save(out, "JPEG", quality=QUALITY, exif=kept)
    return out.getvalue()


def small(data: bytes) -> bytes:
    """A photograph of ours, whose digest was checked, no side longer than SMALL_PX.

    It is drawn when it is asked for: JPEG is unpacked at an eighth to a half of its size in some 15 ms.
    """
    picture = Image.open(io.BytesIO(data), formats=("JPEG",))
    picture.draft("RGB", (SMALL_PX, SMALL_PX))
    picture.thumbnail((SMALL_PX, SMALL_PX))
    out = io.BytesIO()
    picture.convert("RGB").save(out, "JPEG", quality=SMALL_QUALITY, optimize=True)
    return out.getvalue()


def opened(name: str, data: bytes, *, keep_place: bool) -> tuple[Image.Image, Image.Exif]:
    """The picture made small, upright and with transparency, and what is kept of the camera's notes."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")  # a picture that makes the reader doubt is not taken
            picture = Image.open(io.BytesIO(data), formats=FORMATS)
            _refuse_large(name, picture)
            small = _smaller(picture)
            turned = UPRIGHT.get(picture.getexif().get(TURNED, 1))
            upright = small if turned is None else small.transpose(turned)
            return upright, _kept(picture, keep_place=keep_place)
    except (Refused, MemoryError):
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise Refused(_too_many(name)) from error
    except Exception as error:  # whatever a hostile file does to the reader, it is not a picture
        raise Refused(READ_NOT.format(name=name)) from error


def _too_many(name: str, size: str = "") -> str:
    most = f"{MOST_PIXELS / 1e6:.0f} million"
    return f"{name} has too many pixels{size}: up to {most} are taken. Make it smaller first."


def _refuse_large(name: str, picture: Image.Image) -> None:
    """By what the file says of itself; JPEG is asked for no more than is needed."""
    if picture.width * picture.height > MOST_PIXELS:
        raise Refused(_too_many(name, f" ({picture.width} × {picture.height})"))
    picture.draft(None, (2 * LONGEST_SIDE_PX, 2 * LONGEST_SIDE_PX))
    each = 1 if picture.mode in ("1", "L", "P") else 4  # Pillow gives three colours four bytes
    unpacked = picture.width * picture.height * (WEBP_BYTES if picture.format == "WEBP" else each)
    if unpacked > MOST_UNPACKED:
        raise Refused(
            f"{name} would take {unpacked / 1e6:.0f} MB of memory when opened, more than "
            f"{MOST_UNPACKED / 1e6:.0f}: make it smaller first."
        )


def _smaller(picture: Image.Image) -> Image.Image:
    """The picture with transparency, its longer side less than twice the longest that is kept."""
    factor = max(1, max(picture.size) // LONGEST_SIDE_PX)
    if factor == 1:
        return picture.convert("RGBA")
    small = Image.new("RGBA", (-(-picture.width // factor), -(-picture.height // factor)))
    for top in range(0, picture.height, factor * STRIP_PX):
        strip = picture.crop((0, top, picture.width, min(top + factor * STRIP_PX, picture.height)))
        small.paste(strip.convert("RGBA").reduce(factor), (0, top // factor))
    return small


def _kept(picture: Image.Image, *, keep_place: bool) -> Image.Exif:
    """Of the camera's notes: when it was taken, and where if that is wanted."""
    exif, kept = picture.getexif(), Image.Exif()
    taken = exif.get_ifd(EXIF).get(TAKEN_AT)
    if isinstance(taken, str) and TAKEN.fullmatch(taken):
        kept.get_ifd(EXIF)[TAKEN_AT] = taken
    place = exif.get_ifd(PLACE)
    if keep_place and all(_is_place(place.get(tag)) for tag in LATITUDE_AND_LONGITUDE):
        kept.get_ifd(PLACE).update({tag: place[tag] for tag in LATITUDE_AND_LONGITUDE})
    return kept


def _is_place(value: Any) -> bool:
    """N, E, S or W, or three numbers of degrees, minutes, seconds."""
    return value in ("N", "S", "E", "W") or (isinstance(value, tuple) and len(value) == 3)
