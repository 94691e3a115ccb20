"""A day's or a week's worksheet on paper: car after car, a box for each reading, cautions at each step."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path

from collection.drawing.typeset import pdf

TEMPLATE = Path(__file__).with_name("paper.typ")


@dataclass(frozen=True)
class PaperTask:
    """One task with its boxes: what to write (label, last value) and what to tick."""

    title: str
    when: str
    why: str
    cautions: tuple[str, ...]
    write: tuple[tuple[str, str], ...]
    tick: tuple[str, ...]


@dataclass(frozen=True)
class PaperCar:
    """One car on the round."""

    number: int
    bay: str
    name: str
    facts: str
    tags: tuple[str, ...]
    tasks: tuple[PaperTask, ...]
    spare: str = ""
    when: str = ""  # of a person's day: from when, how long
    also: tuple[str, ...] = ()  # of the day, without boxes: rolled out of the way, or done already


@dataclass(frozen=True)
class PaperSheet:
    """The whole round: what is said at its head, then building by building."""

    title: str
    site: str
    week: str
    printed: str
    defer: str
    bring: tuple[str, ...]
    cautions: tuple[tuple[str, str], ...]
    rounds: tuple[tuple[str, tuple[PaperCar, ...]], ...]
    held: tuple[tuple[str, str], ...] = field(default=())
    notes: tuple[str, ...] = field(default=())
    late: tuple[tuple[str, str], ...] = field(default=())
    paper: str = "a4"


def worksheet_pdf(sheet: PaperSheet) -> bytes:
    """The worksheet as a PDF."""
    return pdf(TEMPLATE, asdict(sheet))


PAPERS: Sequence[tuple[str, str]] = (("a4", "A4"), ("us-letter", "Letter"))
