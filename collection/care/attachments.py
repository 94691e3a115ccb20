"""What may come with an entry: a photograph or a PDF, known by its content, cleaned before it is stored.

A photograph is drawn anew, so that nothing that was hidden in the file comes along; of what the
camera wrote into it, the time is kept, and the place only where somebody wants that.

Digests cover the bytes as they are stored, and a photograph is drawn once: another version of Pillow would
draw other bytes from the same photograph, which is no fault.
"""

import hashlib
import re
from dataclasses import dataclass, field
from pathlib import PurePath

from collection.care import pictures
from collection.care.pictures import READ_NOT
from collection.host.refusal import Refused

MOST_FILES = 6  # policy: an entry with more is two entries
MOST_BYTES = 15_000_000  # policy: a phone's largest photograph, a scanned invoice
MOST_PAGES = 200  # policy: of a PDF
JPEG, PDF = "image/jpeg", "application/pdf"
PDF_BEGINS = b"%PDF-"


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

    @property
    def is_document(self) -> bool:
        """Whether it is kept byte for byte."""
        return self.type == PDF


def cleaned(name: str, data: bytes, *, keep_place: bool = False) -> Attached:
    """The file as it may be stored; Refused says in plain words why not.

    For files of strangers in a child only: see ``attachments_apart``.
    """
    called = stem_of(name)
    if len(data) > MOST_BYTES:
        raise Refused(f"{called} is larger than {MOST_BYTES / 1e6:.0f} MB: make it smaller first.")
    if data[: len(PDF_BEGINS)] == PDF_BEGINS:
        _inspect(called, data)
        return Attached(f"{called}.pdf", PDF, data)
    return Attached(f"{called}.jpg", JPEG, pictures.redrawn(called, data, keep_place=keep_place))


def check_stored(type_: str, data: bytes) -> None:
    """Refuse bytes that are not what another installation of ours would have stored under this type."""
    if len(data) > MOST_BYTES:
        raise Refused(f"a file is larger than {MOST_BYTES / 1e6:.0f} MB")
    if type_ == PDF and data[: len(PDF_BEGINS)] == PDF_BEGINS:
        _inspect("a document", data)
    elif type_ == JPEG:
        pictures.opened("a photograph", data, keep_place=False)
    else:
        raise Refused(READ_NOT.format(name="a file"))


def _inspect(name: str, data: bytes) -> None:
    from collection.care.documents import inspect  # a third of a second that no photograph needs to wait for

    inspect(name, data, MOST_PAGES)


def stem_of(name: str) -> str:
    """The name without folders, ending, and what a shell or a header might mistake."""
    stem = re.sub(r"[^\w .()+-]", "", PurePath(name.replace("\\", "/")).stem).strip(" .")
    return stem[:80] or "file"
