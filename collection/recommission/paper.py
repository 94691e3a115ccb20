"""The intake report as a PDF for the archive: PDF/A-3 (ISO 19005-3), tagged for readers (PDF/UA-1)."""

from dataclasses import asdict
from pathlib import Path

from collection.drawing.typeset import ARCHIVAL_AND_TAGGED, pdf
from collection.recommission.intake import Intake
from collection.recommission.standing_drawing import shares

TEMPLATE = Path(__file__).with_name("paper.typ")


def intake_pdf(report: Intake, file: bytes) -> bytes:
    """The report on paper; ``file`` is the exported history, which is laid inside as its proof."""
    facts = asdict(report) | {
        "on": [report.on.year, report.on.month, report.on.day],
        "drawing": shares(report.drawing),
        "proof": report.proof
        and asdict(report.proof) | {"words": report.proof.words, "stated_at": "", "witnessed": ""},
    }
    return pdf(TEMPLATE, facts, standards=ARCHIVAL_AND_TAGGED, file=file)
