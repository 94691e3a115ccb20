"""Which sheets of a file hold the table, where its headings stand, and whether it lies on its side."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from collection.spreadsheets.sheets import dates, dictionaries
from collection.spreadsheets.sheets.cells import Row, Sheet, is_blank, text_of
from collection.spreadsheets.sheets.dictionaries import normal
from collection.spreadsheets.sheets.fields import Kind
from collection.spreadsheets.sheets.guessing import Known, guess
from collection.spreadsheets.sheets.headings import LOOKED_AT, candidates, header_row, known_headings
from collection.spreadsheets.sheets.shaping import (
    NO_HEADINGS,
    Shape,
    grid_of,
    headings_of,
    turned,
)

OUR_NAMES = {"cars": ("cars",), "log": ("care log", "log")}  # sheets of our own workbook
OURS, CALLED_SO = 100.0, 1.5  # policy: what a sheet's name is worth, in headings that we know
MORE_ON_ITS_SIDE = 1.5  # headings more than upright before a table is taken to lie on its side
NAMELESS = 1.0  # policy: a heading less for cars without make and model
SPEAKS = 0.5  # what a column without a heading is worth whose cells tell what it is
ACROSS_AT_LEAST = 3  # dates, or cars, that stand beside each other in a row of headings
ALIKE = 0.6  # of the headings that two sheets share, to be one table


@dataclass(frozen=True)
class _Look:
    """One sheet looked at: how it is best read, and how much speaks for it."""

    name: str
    shape: Shape
    score: float
    headings: frozenset[str]


def find_shape(sheets: Sequence[Sheet], kind: Kind, known: Known) -> Shape:
    """The best sheet for this kind, with all that are like it."""
    looks = [_look(sheet, kind, known) for sheet in sheets]
    best = max(looks, key=lambda look: look.score)
    alike = [best] if best.score >= OURS else [look for look in looks if _is_alike(look, best)]
    return _together(alike, best, kind, known)


def shape_together(sheets: Sequence[Sheet], kind: Kind, known: Known, *, on_its_side: bool) -> Shape:
    """These sheets one beneath the other, as the first of them is best read, upright or on its side."""
    looks = [_look(sheet, kind, known, on_its_side=on_its_side) for sheet in sheets]
    return _together(looks, looks[0], kind, known)


def weight(sheets: Sequence[Sheet], kind: Kind, known: Known) -> float:
    """How much speaks for a file being of this kind."""
    looks = [_look(sheet, kind, known) for sheet in sheets]
    return max(look.score - (NAMELESS if _is_nameless(look, kind) else 0.0) for look in looks)


def _is_nameless(look: _Look, kind: Kind) -> bool:
    """Whether headings of cars name neither make nor model: then it is hardly a list of cars."""
    if kind.key != "cars" or not look.headings:
        return False
    meant = {found[0][0].key for heading in look.headings if (found := candidates(heading, kind)[:1])}
    return not meant & {"name", "marque", "model"}


def _together(looks: Sequence[_Look], best: _Look, kind: Kind, known: Known) -> Shape:
    shape = replace(best.shape, sheets=tuple(pair for look in looks for pair in look.shape.sheets))
    if kind.key == "log" and not _names_a_car(best, kind) and (len(looks) > 1 or known.is_car(best.name)):
        return replace(shape, sheet_is="car.name")
    return shape


def _is_alike(look: _Look, best: _Look) -> bool:
    if look is best:
        return True
    one, other = look.shape, best.shape
    if (one.turned, one.across, one.depth) != (other.turned, other.across, other.depth) or not best.headings:
        return False
    shared = len(look.headings & best.headings) / max(len(look.headings | best.headings), 1)
    return shared >= ALIKE


def _names_a_car(look: _Look, kind: Kind) -> bool:
    if look.shape.across == "car.name" or not look.headings:
        return True
    named = (candidates(heading, kind)[:1] for heading in look.headings)
    return any(found and found[0][0].key.startswith("car.") for found in named)


def _look(sheet: Sheet, kind: Kind, known: Known, *, on_its_side: bool | None = None) -> _Look:
    score, shape = shape_of(sheet, kind, known)
    lying = _turned(sheet, kind) if on_its_side is not False else None
    if lying and (on_its_side or lying[0] >= score + MORE_ON_ITS_SIDE):
        score, shape = lying
    grid = grid_of(sheet, on_its_side=shape.turned)
    beneath = len(grid) - shape.header - 1
    if shape.header == NO_HEADINGS:
        score = SPEAKS * len(guess([sheet], shape, kind, known).columns)
    name = normal(sheet.name)
    called = dictionaries.sheet_names(kind.key)
    if name in OUR_NAMES[kind.key]:
        score += OURS
    elif name in called or set(name.split()) & called:
        score += CALLED_SO
    score = score + math.log1p(beneath) / 10 if beneath > 0 else 0.0
    headings = headings_of(grid, shape.header, shape.depth)
    kept = headings[: shape.across_from] if shape.across else headings
    return _Look(sheet.name, shape, score, frozenset(normal(text_of(cell)) for cell in kept if cell))


def shape_of(sheet: Sheet, kind: Kind, known: Known) -> tuple[float, Shape]:
    """A sheet as it stands: its headings, and whether dates or cars stand across; how much speaks for it."""
    found = header_row(sheet.rows, kind)
    if kind.key == "log" and (across := _across(sheet.rows, known)):
        row, depth, field, start, count = across
        beside = known_headings(headings_of(sheet.rows, row, depth)[:start], kind)
        if found.known <= count + beside:
            shape = Shape(((sheet.name, row),), depth=depth, across=field, across_from=start)
            return count / 2 + beside, shape
    return found.known, Shape(((sheet.name, found.row),), depth=found.depth)


def _turned(sheet: Sheet, kind: Kind) -> tuple[float, Shape] | None:
    if max(map(len, sheet.rows), default=0) < 2:
        return None
    found = header_row(turned(sheet.rows), kind)
    if found.row == NO_HEADINGS or found.depth > 1:
        return None
    return found.known, Shape(((sheet.name, found.row),), turned=True)


def _across(rows: Sequence[Row], known: Known) -> tuple[int, int, str, int, int] | None:
    """Headings whose end are dates, or cars: row, rows joined, what they tell, from where, how many."""
    for number, depth in ((n, d) for n in range(min(len(rows), LOOKED_AT)) for d in (1, 2)):
        row = headings_of(rows, number, depth)
        for field, fits in (
            ("done_at", dates.looks_like_a_date),
            ("car.name", lambda c: known.is_car(text_of(c))),
        ):
            if depth > 1 and (number == 0 or field != "done_at" or not _are_days(rows[number])):
                continue
            hits = [at for at, cell in enumerate(row) if not is_blank(cell) and fits(cell)]
            if len(hits) < ACROSS_AT_LEAST or not hits[0]:
                continue
            rest = [cell for cell in row[hits[0] :] if not is_blank(cell)]
            beneath = [
                fits(cell) for under in rows[number + 1 :] for cell in under[hits[0] :] if cell is not None
            ]
            if len(hits) >= 0.7 * len(rest) and beneath and sum(beneath) < len(beneath) / 2:
                return number, depth, field, hits[0], len(hits)
    return None


def _are_days(row: Row) -> bool:
    """Whether a row holds days of months that stand above it."""
    days = [cell for cell in row if not is_blank(cell)]
    return len(days) >= ACROSS_AT_LEAST and all(
        text_of(day).isdecimal() and len(text_of(day)) <= 2 for day in days
    )
