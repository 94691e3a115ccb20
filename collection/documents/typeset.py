"""Sets a document by a typst template of this folder; the same input gives the same bytes on any machine."""

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import typst

FOLDER = Path(__file__).parent
EPOCH = datetime(2000, 1, 1, tzinfo=UTC)  # a document's own dates stand in its text


def pdf(template: str, facts: dict[str, Any]) -> bytes:
    """The PDF that ``template`` (a file name here) makes of the facts; they must be plain JSON values."""
    return bytes(
        typst.compile(
            FOLDER / template, root=FOLDER, format="pdf", ignore_system_fonts=True,
            sys_inputs={"facts": json.dumps(facts)}, timestamp=int(EPOCH.timestamp()),
        )
    )  # fmt: skip
