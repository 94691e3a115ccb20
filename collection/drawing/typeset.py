"""Sets a document by a typst template; the same input gives the same bytes on any machine."""

import json
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import typst

EPOCH = datetime(2000, 1, 1, tzinfo=UTC)  # a document's own dates stand in its text


ARCHIVAL_AND_TAGGED = ("a-3a", "ua-1")  # ISO 19005-3 at level A; PDF/UA-1 (ISO 14289-1)


def pdf(template: Path, facts: dict[str, Any], *, standards: Sequence[Any] = (), file: bytes = b"") -> bytes:
    """The PDF that ``template`` makes of the facts; they must be plain JSON values.

    ``file`` is text in UTF-8 that the template lays inside the PDF.
    """
    return bytes(
        typst.compile(
            template,
            root=template.parent,
            format="pdf",
            ignore_system_fonts=True,
            sys_inputs={"facts": json.dumps(facts), "file": file.decode()},
            pdf_standards=list(standards),
            timestamp=int(EPOCH.timestamp()),
        )
    )
