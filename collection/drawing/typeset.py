"""Sets a document by a typst template; the same input gives the same bytes on any machine."""

import json
import re
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from types import MappingProxyType
from typing import Any

EPOCH = datetime(2000, 1, 1, tzinfo=UTC)  # a document's own dates stand in its text


ARCHIVAL_AND_TAGGED = ("a-3a", "ua-1")  # ISO 19005-3 at level A; PDF/UA-1 (ISO 14289-1)


# What the typesetter's own letters can show in every paper: Latin, Greek, Cyrillic, signs (a test sets each).
SHOWN = (
    (0x0009, 0x000A),
    (0x0020, 0x007E),
    (0x00A0, 0x024F),
    (0x0300, 0x034E),
    (0x0370, 0x0377),
    (0x037A, 0x037F),
    (0x0384, 0x038A),
    (0x038C, 0x038C),
    (0x038E, 0x03A1),
    (0x03A3, 0x03FF),
    (0x0400, 0x0484),
    (0x0487, 0x04FF),
    (0x1E00, 0x1EFF),
    (0x2010, 0x2027),
    (0x2030, 0x2040),
    (0x2044, 0x2052),
    (0x2070, 0x2071),
    (0x2074, 0x208E),
    (0x2090, 0x209C),
    (0x20A0, 0x20BF),
    (0x2190, 0x22FF),
    (0x25A0, 0x25FF),
)
HOLLOW = "□"
LACKING = (
    f"{HOLLOW} stands for a character for which this paper has no letter: the page on the screen shows it."
)
_OTHERS = re.compile("[^{}]".format("".join(f"{chr(low)}-{chr(high)}" for low, high in SHOWN)))
# as the typesetter says it of a paper for the archive: no letter, or a character of private use
_UNSHOWN = ("could not be displayed", "contains the codepoint")


def pdf(
    template: Path,
    facts: dict[str, Any],
    *,
    standards: Sequence[Any] = (),
    file: bytes = b"",
    pictures: Mapping[str, bytes] = MappingProxyType({}),
) -> bytes:
    """The PDF that ``template`` makes of the facts; they must be plain JSON values.

    ``file`` is text in UTF-8 that the template lays inside the PDF, ``pictures`` are files that it shows, by
    their names. A paper for the archive may hold no
    character without a letter: where it does, each stands as a hollow square, and the template is given the
    words for it as ``lacking``.
    """
    import typst  # the typesetter loads where a paper is made

    try:
        return _set(template, json.dumps(facts), standards, file, "", pictures)
    except typst.TypstError as error:
        if not any(words in str(error) for words in _UNSHOWN):
            raise
    return _set(template, json.dumps(_shown(facts)), standards, file, LACKING, pictures)


def _shown(value: Any) -> Any:
    """The same facts with nothing in their texts that has no letter."""
    if isinstance(value, str):
        return _OTHERS.sub(HOLLOW, value)
    if isinstance(value, dict):
        return {name: _shown(part) for name, part in value.items()}
    return [_shown(part) for part in value] if isinstance(value, list | tuple) else value


def _set(
    template: Path,
    facts: str,
    standards: Sequence[Any],
    file: bytes,
    lacking: str,
    pictures: Mapping[str, bytes],
) -> bytes:
    import typst

    with TemporaryDirectory() as folder:  # the typesetter reads pictures from where its template lies
        place = Path(folder)
        (place / template.name).write_bytes(template.read_bytes())
        for name, data in pictures.items():
            (place / name).write_bytes(data)
        return bytes(
            typst.compile(
                place / template.name,
                root=place,
                format="pdf",
                ignore_system_fonts=True,
                sys_inputs={"facts": facts, "file": file.decode(), "lacking": lacking},
                pdf_standards=list(standards),
                timestamp=int(EPOCH.timestamp()),
            )
        )
