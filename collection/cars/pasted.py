"""Cars pasted from a spreadsheet or a list: a line each, put into the lines of the page to be looked at.

Columns are known by their headings where the first line has some, else by what stands in them. A day that is
not understood, or reads both ways, stays in its line as it was written: nothing is dropped without a word.
"""

import csv
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

HEADINGS = {
    "marque": ("make", "marque", "manufacturer", "marke", "hersteller", "marca"),
    "model": ("model", "modell", "modèle", "modello", "modelo", "type", "typ"),
    "year": ("year", "built", "baujahr", "bj", "jahr", "année", "anno", "año"),
    "owner": ("owner", "besitzer", "eigentümer", "propriétaire", "proprietario", "propietario"),
    "driven_on": ("last driven", "driven", "last drive", "zuletzt gefahren", "letzte fahrt"),
}
YEAR = re.compile(r"(?:18[89]|19\d|20\d)\d")
ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
WITH_MARKS = re.compile(r"(\d{1,2})([./])(\d{1,2})\2(\d{4})")
MOST_CELLS = 12
MOST_PASTED = 20_000  # letters
DAY_MONTH, MONTH_DAY = "day", "month"  # which of them stands first
ORDERS = (DAY_MONTH, MONTH_DAY)
Line = dict[str, str]


@dataclass(frozen=True)
class Pasted:
    """What a list says of each car, by the names of the fields; the first day in it that reads both ways.

    ``left_out``: what stands in it and in no field; ``too_many``: lines beyond those that were taken.
    """

    lines: Sequence[Line] = ()
    both_ways: str = ""
    left_out: Sequence[str] = ()
    too_many: int = 0


def cars_pasted(text: str, most: int, order: str = "") -> Pasted:
    """The cars of a list, ``most`` at the most. ``order`` of its days, else as they show."""
    text = text[:MOST_PASTED]
    rows = [[cell.strip() for cell in row][:MOST_CELLS] for row in _rows(text)]
    rows = [row for row in rows if any(row)]
    if not rows:
        return Pasted()
    columns = _by_heading(rows[0])
    body = rows[1:] if columns else rows
    pairs = [(row, line) for row in body[:most] if (line := _line(row, columns))]
    lines = [line for _, line in pairs]
    left_out = dict.fromkeys(cell for row, line in pairs for cell in _left_out(row, line))
    days = [line["driven_on"] for line in lines if "driven_on" in line]
    order = order if order in ORDERS else _order_of(days)
    for line in lines:
        if "driven_on" in line:
            line["driven_on"] = _clear(line["driven_on"], order)
    both_ways = "" if order else next((day for day in days if len(days_of(day)) > 1), "")
    return Pasted(lines, both_ways, tuple(left_out), max(len(body) - most, 0))


def read_day(text: str) -> date:
    """A day as somebody wrote it; ValueError says what to write instead."""
    days = days_of(text)
    if len(days) > 1:
        either = " or ".join(day.isoformat() for day in days.values())
        raise ValueError(f"“{text}” reads both ways: write {either}.")
    if not days:
        raise ValueError("Write the day as 2026-10-18: year, month, day.")
    return next(iter(days.values()))


def is_iso(text: str) -> bool:
    """Whether a text is a day as a calendar of a page takes and shows it."""
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def _rows(text: str) -> Sequence[Sequence[str]]:
    lines = text.replace("\0", "").splitlines()
    delimiter = max("\t;,", key=lambda sign: sum(sign in line for line in lines))
    return list(csv.reader(lines, delimiter=delimiter))


def _by_heading(first: Sequence[str]) -> dict[int, str]:
    known = {word: field for field, words in HEADINGS.items() for word in words}
    return {at: known[cell.casefold()] for at, cell in enumerate(first) if cell.casefold() in known}


def _line(row: Sequence[str], columns: Mapping[int, str]) -> Line:
    line: Line = {}
    texts: list[str] = []
    for at, cell in enumerate(row):
        field = columns.get(at) or _kind_of(cell)
        if columns and at not in columns:
            continue
        if field and field not in line:
            line[field] = cell
        elif not field and cell:
            texts.append(cell)
    names = texts
    if len(names) == 1 and "marque" not in line:
        line, names = _one_name(line, names[0])
    line |= {
        field: text
        for field, text in zip(("marque", "model", "owner"), names, strict=False)
        if field not in line
    }
    return {field: text for field, text in line.items() if text}


def _left_out(row: Sequence[str], line: Line) -> Iterator[str]:
    """Cells of which a word stands in no field of the line."""
    taken = set(_words(" ".join(line.values())))
    for cell in row:
        if not taken.issuperset(_words(cell)):
            yield cell


def _words(text: str) -> list[str]:
    return text.replace("(", " ").replace(")", " ").split()


def _one_name(line: Line, text: str) -> tuple[Line, list[str]]:
    """“1962 Wendlow Twelve”, in one cell."""
    year = YEAR.search(text)
    if year and "year" not in line:
        line |= {"year": year[0]}
        text = f"{text[: year.start()]} {text[year.end() :]}"
    make, _, model = " ".join(_words(text)).partition(" ")
    return line, [make, model]


def _kind_of(cell: str) -> str:
    if YEAR.fullmatch(cell):
        return "year"
    return "driven_on" if ISO.fullmatch(cell) or WITH_MARKS.fullmatch(cell) else ""


def days_of(cell: str) -> dict[str, date]:
    """The days that a cell may mean, by what stands first in it ("": either way); none where it is no day."""
    if iso := ISO.fullmatch(cell):
        return dict(_days({"": (iso[1], iso[2], iso[3])}))
    if not (written := WITH_MARKS.fullmatch(cell)):
        return {}
    first, sign, second, year = written.groups()
    if sign == "." or int(first) == int(second):
        return dict(_days({"": (year, second, first)}))
    return dict(_days({DAY_MONTH: (year, second, first), MONTH_DAY: (year, first, second)}))


def _days(ways: Mapping[str, tuple[str, str, str]]) -> Iterator[tuple[str, date]]:
    for order, parts in ways.items():
        try:
            yield order, date(*map(int, parts))
        except ValueError:
            continue


def _order_of(days: Sequence[str]) -> str:
    """Which comes first in a list, by its days that read one way only; "" where none tells or they differ."""
    orders = {order for day in days if len(ways := days_of(day)) == 1 for order in ways if order}
    return orders.pop() if len(orders) == 1 else ""


def _clear(cell: str, order: str) -> str:
    """The day as a field takes it; what is not clear stays as it was written."""
    days = days_of(cell)
    if len(days) == 1:
        return next(iter(days.values())).isoformat()
    return days[order].isoformat() if order in days else cell
