"""The intake report as a PDF for the archive: PDF/A-3 (ISO 19005-3), tagged for readers (PDF/UA-1)."""

from dataclasses import asdict
from pathlib import Path

from collection.drawing.typeset import ARCHIVAL_AND_TAGGED, pdf
from collection.recommission.intake import Intake

TEMPLATE = Path(__file__).with_name("paper.typ")


def intake_pdf(report: Intake) -> bytes:
    """The report on paper."""
    on = [report.on.year, report.on.month, report.on.day]
    return pdf(TEMPLATE, asdict(report) | {"on": on}, standards=ARCHIVAL_AND_TAGGED)
