"""Finds the row of headings, and what each heading means."""

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import lru_cache

from collection.spreadsheets.sheets import dictionaries
from collection.spreadsheets.sheets.cells import Cell, Row, is_blank, text_of
from collection.spreadsheets.sheets.dates import looks_like_a_date
from collection.spreadsheets.sheets.dictionaries import normal
from collection.spreadsheets.sheets.fields import NUMBER, WHOLE, Field, Kind
from collection.spreadsheets.sheets.letters import letters
from collection.spreadsheets.sheets.numbers import split_unit
from collection.spreadsheets.sheets.shaping import NO_HEADINGS, headings_of
from collection.spreadsheets.sheets.units import BRACKETS, unit_named

WIDE = 60  # cells of a row among which known headings are sought: who has more names some of the first
LOOKED_AT = 40  # rows in which the headings are sought: titles and addresses stand above them
CLOSE = 0.82  # policy: one or two letters wrong in a word
NEAR = CLOSE / (2 - CLOSE)  # shorter than this share of each other, two texts cannot be so close
LESS_SURE = 0.95  # than a heading that we know
LONGEST = 200  # signs of a heading that are looked at
SURELY = 3.0  # headings that we know among which a figure may stand
_SHORT = 4  # words this short are not guessed at: "in" is no "on"


def bare(heading: str, way: str = "") -> str:
    """A heading without what stands in brackets or behind a comma, and without its unit."""
    words = normal(BRACKETS.sub(" ", heading).split(",")[0]).split()
    while len(words) > 1 and way and unit_named(way, words[-1]):
        words.pop()
    return " ".join(words)


@lru_cache(maxsize=4)
def meanings(kind: Kind) -> dict[str, Field]:
    """Every known heading of a kind; where two fields share one, the first has it."""
    known: dict[str, Field] = {}
    for field in kind.fields:
        known.setdefault(normal(field.label), field)
    for field in kind.fields:
        for name in field.also:
            known.setdefault(normal(name), field)
    for key, name in dictionaries.headings(kind.key):
        if field_ := kind.field(key):
            known.setdefault(normal(name), field_)
    return known


@lru_cache(maxsize=4)
def _all_meanings(kind: Kind) -> dict[str, list[Field]]:
    every: dict[str, list[Field]] = {}
    pairs = [(name, field) for field in kind.fields for name in (field.label, *field.also)]
    pairs += [(name, of) for key, name in dictionaries.headings(kind.key) if (of := kind.field(key))]
    for name, field in pairs:
        if field not in every.setdefault(normal(name), []):
            every[normal(name)].append(field)
    return every


def other_meanings(heading: str, kind: Kind) -> list[Field]:
    """Every field that a heading means in one of the languages; what stands beneath it tells which."""
    return _all_meanings(kind).get(normal(heading[:LONGEST]), [])


@dataclass(frozen=True)
class Found:
    """Where headings stand: their row, how many rows of them are joined, how many of them we know."""

    row: int
    depth: int
    known: float


def header_row(rows: Sequence[Row], kind: Kind) -> Found:
    """The row with most headings that we know; two rows where they mean more together than the lower alone.

    Else the first that holds words in two cells or more and no figures; else there are none.
    """
    best = Found(NO_HEADINGS, 0, 0.0)
    for number, row in enumerate(rows[:LOOKED_AT]):
        if sum(not is_blank(cell) for cell in row) < 2:
            continue
        holds_data = any(is_data(cell) for cell in row)
        for depth in (1, 2) if number and _is_group(rows[number - 1], row) else (1,):
            known = known_headings(headings_of(rows, number, depth), kind)
            if holds_data and known < SURELY:
                continue
            if known > best.known + (0.5 if depth > 1 else 0.0):
                best = Found(number, depth, known)
    if best.known:
        return best
    wordy = (n for n, row in enumerate(rows[:LOOKED_AT]) if _is_wordy(row))
    at = next(wordy, NO_HEADINGS)
    return Found(at, 0 if at == NO_HEADINGS else 1, 0.0)


def known_headings(headings: Row, kind: Kind) -> float:
    """How many fields they name, each once, as surely as they do."""
    named: dict[str, float] = {}
    for cell in headings[:WIDE]:
        if isinstance(cell, str):
            for field, score in candidates(cell, kind)[:1]:
                named[field.key] = max(score, named.get(field.key, 0.0))
    return sum(named.values())


def is_data(cell: Cell) -> bool:
    """Whether a cell is a date or a figure, which a heading seldom is."""
    if isinstance(cell, str):
        parts = split_unit(cell)
        return looks_like_a_date(cell) or (parts is not None and len(parts[1]) < _SHORT)
    return not is_blank(cell)


def _is_group(above: Row, below: Row) -> bool:
    """Whether a row may name groups of the columns beneath it: words over two columns or more of headings."""
    words = [at for at, cell in enumerate(above) if isinstance(cell, str)]
    return bool(words) and len(words) < len(below) and all(isinstance(cell, str) for cell in below if cell)


def _is_wordy(row: Row) -> bool:
    texts = [cell for cell in row if not is_blank(cell)]
    return len(texts) > 1 and not any(sign.isdigit() for cell in texts for sign in text_of(cell))


def candidates(heading: str, kind: Kind) -> list[tuple[Field, float]]:
    """What a heading may mean, surest first; 1 is one that we know. One that is too long means nothing."""
    return _candidates(heading, kind) if len(heading) <= LONGEST else []


@lru_cache(maxsize=4096)
def _candidates(heading: str, kind: Kind) -> list[tuple[Field, float]]:
    known = meanings(kind)
    whole = normal(heading)
    if whole in known:
        return [(known[whole], 1.0)]
    for field in kind.fields:
        if not field.unit and "(" not in heading and "[" not in heading and "," not in heading:
            continue
        short = bare(heading, field.unit)
        if short and known.get(short) is field and _may_be(field, whole):
            return [(field, 0.98)]
    if len(whole) < _SHORT:
        return []
    close = _close(whole, bare(heading), known)
    return [(field, score) for field, score in close if _may_be(field, whole)]


def _may_be(field: Field, whole: str) -> bool:
    """Per cent are no number of another unit, nor of none: “Antifreeze %” is not its pH."""
    return "%" not in whole or field.unit == "%" or not (field.unit or field.type in (NUMBER, WHOLE))


def _close(whole: str, short: str, known: dict[str, Field]) -> list[tuple[Field, float]]:
    fields: dict[str, tuple[Field, float]] = {}
    for text in {whole, short} - {""}:
        matcher = SequenceMatcher(None, "", text)
        for name, field in known.items():
            if len(name) < _SHORT or not NEAR * len(text) <= len(name) <= len(text) / NEAR:
                continue
            matcher.set_seq1(name)
            ratio = matcher.ratio() if matcher.quick_ratio() >= CLOSE else 0.0
            if ratio >= CLOSE and ratio * LESS_SURE > fields.get(field.key, (field, 0.0))[1]:
                fields[field.key] = (field, ratio * LESS_SURE)
    return sorted(fields.values(), key=lambda pair: -pair[1])


def heading_of(row: Row, at: int) -> str:
    """The heading of a column, or its letter where it has none."""
    text = text_of(row[at])[:LONGEST] if at < len(row) else ""
    return text or f"column {letters(at)}"


def plate(text: str) -> str:
    """A registration or a chassis number without blanks, strokes and small letters."""
    return "".join(sign for sign in text.upper() if sign.isalnum())
