"""Cars pasted from a spreadsheet or a list: a line each, put into the lines of the page to be looked at.

Columns are known by their headings where the first line has some, else by what stands in them.
"""

import csv
import re
from collections.abc import Mapping, Sequence
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
DAY_FIRST = re.compile(r"(\d{1,2})([./])(\d{1,2})\2(\d{4})")
MOST_CELLS = 12
MOST_PASTED = 20_000  # letters
Line = dict[str, str]


def cars_pasted(text: str, most: int) -> list[Line]:
    """What the lines say of each car, by the names of the fields; what is understood of none stays out."""
    text = text[:MOST_PASTED]
    rows = [[cell.strip() for cell in row][:MOST_CELLS] for row in _rows(text)]
    rows = [row for row in rows if any(row)]
    if not rows:
        return []
    columns = _by_heading(rows[0])
    body = rows[1:] if columns else rows
    return [line for row in body[:most] if (line := _line(row, columns))]


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
        if field == "driven_on":
            cell = _day(cell)
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


def _one_name(line: Line, text: str) -> tuple[Line, list[str]]:
    """“1962 Wendlow Twelve”, in one cell."""
    year = YEAR.search(text)
    if year and "year" not in line:
        line |= {"year": year[0]}
        text = f"{text[: year.start()]} {text[year.end() :]}"
    make, _, model = " ".join(text.replace("(", " ").replace(")", " ").split()).partition(" ")
    return line, [make, model]


def _kind_of(cell: str) -> str:
    if YEAR.fullmatch(cell):
        return "year"
    return "driven_on" if ISO.fullmatch(cell) or DAY_FIRST.fullmatch(cell) else ""


def _day(cell: str) -> str:
    """The day as a field takes it; nothing where day and month could be exchanged."""
    try:
        if iso := ISO.fullmatch(cell):
            return date(*map(int, iso.groups())).isoformat()
        if match := DAY_FIRST.fullmatch(cell):
            day, month = int(match[1]), int(match[3])
            if match[2] == "." or day > 12 or day == month:  # months
                return date(int(match[4]), month, day).isoformat()
    except ValueError:
        pass
    return ""
