"""Whether a PDF is paper and no more: it runs nothing, carries nothing, opens nothing (ISO 32000-1)."""

import io
from collections.abc import Iterator
from typing import Any

from pypdf import PdfReader
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject, StreamObject

from collection.care.pictures import READ_NOT
from collection.host.refusal import Refused

MOST_OBJECTS = 50_000  # policy: of a PDF; a hostile one may claim millions
# Entries of a dictionary: scripts (12.6.4.16, 12.7.8, 13.6.4.2); files, also associated ones (7.11.4, 12.3.5,
# ISO 32000-2 14.13); media (13.7); addresses (12.6.4.7, 7.7.2).
ENTRIES = frozenset(
    (
        "/JS",
        "/JavaScript",
        "/XFA",
        "/OnInstantiate",
        "/EF",
        "/RF",
        "/AF",
        "/EmbeddedFiles",
        "/Collection",
        "/RichMediaContent",
        "/URI",
    )
)
# What a dictionary says that it is (/Type, /Subtype): files, media (12.5.6.15 to 12.5.6.19, 13.6); or does
# (/S): every action (12.6.4) but those that turn to another page of the document itself.
SORTS = frozenset(
    (
        "/EmbeddedFile",
        "/FileAttachment",
        "/Filespec",
        "/RichMedia",
        "/3D",
        "/JavaScript",
        "/Launch",
        "/URI",
        "/GoToR",
        "/GoToE",
        "/GoToDp",
        "/GoTo3DView",
        "/Thread",
        "/Sound",
        "/Movie",
        "/Rendition",
        "/RichMediaExecute",
        "/SubmitForm",
        "/ResetForm",
        "/ImportData",
        "/Named",
        "/Hide",
    )
)
URL = "/URL"  # a file specification's system that is an address (7.11.5)


def inspect(name: str, data: bytes, most_pages: int) -> None:
    """Refuse a PDF that cannot be read, is locked, too long, or is more than paper."""
    try:
        reader = PdfReader(io.BytesIO(data), strict=False)
        locked = reader.is_encrypted
        pages, active = (0, "") if locked else (len(reader.pages), _active(reader))
    except MemoryError:
        raise
    except Exception as error:  # whatever a hostile file does to the reader, it is not a PDF
        raise Refused(READ_NOT.format(name=name)) from error
    if locked:
        raise Refused(f"{name} is locked by a password: save it without one.")
    if not 1 <= pages <= most_pages:
        raise Refused(f"{name} has no page or more than {most_pages}: send the pages that matter.")
    if active:
        raise Refused(
            f"{name} carries a script, a file, a form that sends, or an address that it opens ({active}): "
            "print it to a new PDF."
        )


def _active(reader: PdfReader) -> str:
    """The first name met in the PDF that makes it more than paper.

    Every object of its tables is looked at, also one that hangs on nothing: another reader may find it.
    """
    seen: set[int] = set()
    waiting: list[Any] = [reader.trailer, *_listed(reader)]
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
            if name := _forbidden_name(thing):
                return name
            waiting += [thing.raw_get(key) for key in thing]
    return ""


def _listed(reader: PdfReader) -> Iterator[IndirectObject]:
    """The objects that the file's tables name, those in object streams too."""
    for generation, numbers in reader.xref.items():
        for number in numbers:
            yield IndirectObject(number, generation, reader)
    for number in reader.xref_objStm:
        yield IndirectObject(number, 0, reader)


def _forbidden_name(thing: DictionaryObject) -> str:
    """What makes this dictionary more than paper, or nothing."""
    names = [str(key) for key in thing if key in ENTRIES]
    names += [sort for key in ("/S", "/Type", "/Subtype") if (sort := _value(thing, key)) in SORTS]
    if _value(thing, "/FS") == URL:
        names.append(URL)
    if isinstance(thing, StreamObject) and "/F" in thing:
        names.append("/F")  # a stream whose bytes lie in another file (7.3.8.2)
    if _value(thing, "/Subtype") == "/Form" and "/Ref" in thing:
        names.append("/Ref")  # a page of another file (14.10.4)
    return min(names, default="")


def _value(thing: DictionaryObject, key: str) -> str:
    """The name that stands under a key, also where it stands elsewhere."""
    return str(thing[key]) if key in thing else ""
