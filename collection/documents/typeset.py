"""Sets a document by a typst template of this folder; the same input gives the same bytes on any machine."""

import json
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import typst

FOLDER = Path(__file__).parent
EPOCH = datetime(2000, 1, 1, tzinfo=UTC)  # a document's own dates stand in its text


ARCHIVAL_AND_TAGGED = ("a-3a", "ua-1")  # ISO 19005-3 at level A; PDF/UA-1 (ISO 14289-1)


def pdf(template: str, facts: dict[str, Any], *, standards: Sequence[Any] = (), file: bytes = b"") -> bytes:
    """The PDF that ``template`` (a file name here) makes of the facts; they must be plain JSON values.

    ``file`` is text in UTF-8 that the template lays inside the PDF.
    """
    return bytes(
        typst.compile(
            FOLDER / template,
            root=FOLDER,
            format="pdf",
            ignore_system_fonts=True,
            sys_inputs={"facts": json.dumps(facts), "file": file.decode()},
            pdf_standards=list(standards),
            timestamp=int(EPOCH.timestamp()),
        )
    )
