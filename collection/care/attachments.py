"""What may come with an entry: a photograph or a PDF, known by its content, cleaned before it is stored.

A photograph is drawn anew, so that nothing that was hidden in the file comes along; of what the
camera wrote into it, the time is kept, and the place only where somebody wants that.

Digests cover the bytes as they are stored, and a photograph is drawn once: another version of Pillow would
draw other bytes from the same photograph, which is no fault.
"""

import hashlib
import io
import re
import warnings
from dataclasses import dataclass, field
from pathlib import PurePath
from typing import Any

from PIL import Image, ImageOps
from pypdf import PdfReader
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject

MOST_FILES = 6  # policy: an entry with more is two entries
MOST_BYTES = 15_000_000  # policy: a phone's largest photograph, a scanned invoice
MOST_PIXELS = 60_000_000  # policy: above what phones take, below what fills the memory
LONGEST_SIDE_PX = 2400  # policy: a tyre's date code stays legible, a page stays light
QUALITY = 85  # policy: of JPEG, in per cent
MOST_PAGES = 200  # policy
MOST_OBJECTS = 50_000  # policy: of a PDF; a hostile one may claim millions
PICTURES = ("JPEG", "PNG", "WEBP")
JPEG, PDF = "image/jpeg", "application/pdf"
TAKEN_AT, PLACE = 0x9003, 0x8825  # Exif 2.3: DateTimeOriginal, GPS information
EXIF, TAKEN = 0x8769, re.compile(r"\d{4}:\d\d:\d\d \d\d:\d\d:\d\d")
LATITUDE_AND_LONGITUDE = (1, 2, 3, 4)  # Exif 2.3: references and degrees
# what makes a PDF do something by itself, or carry something along (ISO 32000-1, 7.11.4, 12.6.4, 13.7)
ACTIVE = frozenset(
    (
        "/JS",
        "/JavaScript",
        "/Launch",
        "/EmbeddedFile",
        "/EmbeddedFiles",
        "/RichMedia",
        "/XFA",
        "/ImportData",
        "/SubmitForm",
        "/GoToR",
        "/GoToE",
        "/Movie",
        "/Rendition",
    )
)
READ_NOT = "{name} is no photograph (JPEG, PNG, WebP) and no PDF, or it is damaged: choose another file."


@dataclass(frozen=True)
class Attached:
    """A file fit to be stored."""

    name: str
    type: str
    data: bytes = field(repr=False)

    @property
    def digest(self) -> str:
        """SHA-256 of the bytes as they are stored."""
        return hashlib.sha256(self.data).hexdigest()


def cleaned(name: str, data: bytes, *, keep_place: bool = False) -> Attached:
    """The file as it may be stored; ValueError says in plain words why not."""
    called = _name(name)
    if len(data) > MOST_BYTES:
        raise ValueError(f"{called} is larger than {MOST_BYTES / 1e6:.0f} MB: make it smaller first.")
    if data[:5] == b"%PDF-":
        _inspect(called, data)
        return Attached(f"{called}.pdf", PDF, data)
    return Attached(f"{called}.jpg", JPEG, _redrawn(called, data, keep_place=keep_place))


def check_stored(type_: str, data: bytes) -> None:
    """Refuse bytes that are not what another installation of ours would have stored under this type."""
    if len(data) > MOST_BYTES:
        raise ValueError(f"a file is larger than {MOST_BYTES / 1e6:.0f} MB")
    if type_ == PDF and data[:5] == b"%PDF-":
        _inspect("a document", data)
    elif type_ == JPEG:
        _opened("a photograph", data, keep_place=False)
    else:
        raise ValueError(READ_NOT.format(name="a file"))


def _name(name: str) -> str:
    """The name without folders, ending, and what a shell or a header might mistake."""
    stem = re.sub(r"[^\w .()+-]", "", PurePath(name.replace("\\", "/")).stem).strip(" .")
    return stem[:80] or "file"


def _redrawn(name: str, data: bytes, *, keep_place: bool) -> bytes:
    picture, kept = _opened(name, data, keep_place=keep_place)
    picture.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    paper = Image.new("RGB", picture.size, "white")
    paper.paste(picture, mask=picture.getchannel("A"))
    out = io.BytesIO()
    paper.save(out, "JPEG", quality=QUALITY, exif=kept)
    return out.getvalue()


def _opened(name: str, data: bytes, *, keep_place: bool) -> tuple[Image.Image, Image.Exif]:
    """The picture upright and with transparency, and what is kept of the camera's notes."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")  # a picture that makes the reader doubt is not taken
            picture = Image.open(io.BytesIO(data), formats=PICTURES)
            fits = picture.width * picture.height <= MOST_PIXELS
            if fits:
                return ImageOps.exif_transpose(picture).convert("RGBA"), _kept(picture, keep_place=keep_place)
    except Exception as error:  # whatever a hostile file does to the reader, it is not a picture
        raise ValueError(READ_NOT.format(name=name)) from error
    raise ValueError(f"{name} has too many pixels: make it smaller first.")


def _kept(picture: Image.Image, *, keep_place: bool) -> Image.Exif:
    """Of the camera's notes: when it was taken, and where if that is wanted."""
    said, kept = picture.getexif(), Image.Exif()
    taken = said.get_ifd(EXIF).get(TAKEN_AT)
    if isinstance(taken, str) and TAKEN.fullmatch(taken):
        kept.get_ifd(EXIF)[TAKEN_AT] = taken
    place = said.get_ifd(PLACE)
    if keep_place and all(_is_place(place.get(tag)) for tag in LATITUDE_AND_LONGITUDE):
        kept.get_ifd(PLACE).update({tag: place[tag] for tag in LATITUDE_AND_LONGITUDE})
    return kept


def _is_place(value: Any) -> bool:
    """N, E, S or W, or three numbers of degrees, minutes, seconds."""
    return value in ("N", "S", "E", "W") or (isinstance(value, tuple) and len(value) == 3)


def _inspect(name: str, data: bytes) -> None:
    """Refuse a PDF that cannot be read, is locked, too long, or would do something by itself."""
    try:
        reader = PdfReader(io.BytesIO(data), strict=False)
        locked = reader.is_encrypted
        pages, active = (0, "") if locked else (len(reader.pages), _active(reader.trailer))
    except Exception as error:  # whatever a hostile file does to the reader, it is not a PDF
        raise ValueError(READ_NOT.format(name=name)) from error
    if locked:
        raise ValueError(f"{name} is locked by a password: save it without one.")
    if not 1 <= pages <= MOST_PAGES:
        raise ValueError(f"{name} has no page or more than {MOST_PAGES}: send the pages that matter.")
    if active:
        raise ValueError(f"{name} carries a script, a file or a form ({active}): print it to a new PDF.")


def _active(trailer: DictionaryObject) -> str:
    """The first name met in the PDF that makes it more than paper."""
    seen: set[int] = set()
    waiting: list[Any] = [trailer]
    while waiting:
        thing = waiting.pop()
        if isinstance(thing, IndirectObject):
            if thing.idnum in seen:
                continue
            seen.add(thing.idnum)
            thing = thing.get_object()
        if len(seen) > MOST_OBJECTS:
            return "too many parts"
        if isinstance(thing, ArrayObject):
            waiting += list(thing)
        elif isinstance(thing, DictionaryObject):
            if found := ACTIVE & _names(thing):
                return min(found)
            waiting += [thing.raw_get(key) for key in thing]
    return ""


def _names(thing: DictionaryObject) -> set[str]:
    """What a dictionary holds, and what kind of thing or action it says that it is."""
    return {str(key) for key in thing} | {str(thing.get(key)) for key in ("/S", "/Type")}
