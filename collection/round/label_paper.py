"""Sheets of labels with a square code each: common sizes, several on a sheet, begun anywhere on it."""

import io
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

import segno

from collection.drawing.typeset import pdf

TEMPLATE = Path(__file__).with_name("labels.typ")

INCH_MM = 25.4


@dataclass(frozen=True)
class LabelSheet:
    """A sheet as the trade sells it: millimetres, columns and rows; sizes are common practice."""

    key: str
    name: str
    paper: str  # typst's name of the paper
    columns: int
    rows: int
    width_mm: float
    height_mm: float
    left_mm: float
    top_mm: float
    gap_mm: float = 0.0  # between columns; rows touch

    @property
    def count(self) -> int:
        """Labels on a sheet."""
        return self.columns * self.rows


SHEETS = (
    LabelSheet("a4-21", "A4, 21 labels of 63.5 × 38.1 mm", "a4", 3, 7, 63.5, 38.1, 7.25, 15.15, 2.5),
    LabelSheet("a4-24", "A4, 24 labels of 70 × 37 mm", "a4", 3, 8, 70, 37, 0, 0.5),
    LabelSheet("a4-14", "A4, 14 labels of 99.1 × 38.1 mm", "a4", 2, 7, 99.1, 38.1, 4.65, 15.15, 2.5),
    LabelSheet("a4-8", "A4, 8 labels of 99.1 × 67.7 mm", "a4", 2, 4, 99.1, 67.7, 4.65, 13.1, 2.5),
    LabelSheet(
        "letter-30",
        "Letter, 30 labels of 2⅝ × 1 in",
        "us-letter",
        3,
        10,
        2.625 * INCH_MM,
        INCH_MM,
        0.1875 * INCH_MM,
        0.5 * INCH_MM,
        0.125 * INCH_MM,
    ),
    LabelSheet(
        "letter-10",
        "Letter, 10 labels of 4 × 2 in",
        "us-letter",
        2,
        5,
        4 * INCH_MM,
        2 * INCH_MM,
        0.15625 * INCH_MM,
        0.5 * INCH_MM,
        0.1875 * INCH_MM,
    ),
)
BY_KEY = {sheet.key: sheet for sheet in SHEETS}


@dataclass(frozen=True)
class Label:
    """What a label says, and the address that its code opens."""

    title: str
    lines: tuple[str, ...]
    address: str


def code_svg(address: str) -> str:
    """The square code of an address, with a quarter of it spare for dirt and scratches."""
    out = io.BytesIO()
    code = segno.make(address, error="q", micro=False, boost_error=False)
    code.save(out, kind="svg", border=4, xmldecl=False, svgns=True, unit="mm", scale=1)
    return out.getvalue().decode()


def label_sheets(labels: Sequence[Label], sheet: LabelSheet, *, skip: int = 0) -> bytes:
    """The labels as a PDF, the first ``skip`` places of the first sheet left empty."""
    labelled = [asdict(label) | {"code": code_svg(label.address)} for label in labels]
    return pdf(TEMPLATE, {"sheet": asdict(sheet), "skip": skip, "labels": labelled})
