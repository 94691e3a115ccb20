"""The intake report as a PDF for the archive: PDF/A-3 (ISO 19005-3), tagged for readers (PDF/UA-1)."""

from dataclasses import asdict

from collection.documents.typeset import ARCHIVAL_AND_TAGGED, pdf
from collection.intake import Intake


def intake_pdf(report: Intake) -> bytes:
    """The report on paper."""
    on = [report.on.year, report.on.month, report.on.day]
    return pdf("intake.typ", asdict(report) | {"on": on}, standards=ARCHIVAL_AND_TAGGED)
