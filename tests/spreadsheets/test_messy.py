"""Tables as strangers have them: each is read as what stands beside it says, and asks what it should ask."""

import tomllib
from pathlib import Path

import pytest

from collection.spreadsheets.actions.incoming import KINDS, likely_kind
from collection.spreadsheets.sheets.car_rows import spread
from collection.spreadsheets.sheets.dictionaries import normal
from collection.spreadsheets.sheets.finding import find_shape
from collection.spreadsheets.sheets.guessing import Known, guess
from collection.spreadsheets.sheets.headings import plate
from collection.spreadsheets.sheets.letters import letters
from collection.spreadsheets.sheets.log_rows import told_by
from collection.spreadsheets.sheets.parsing import Reader
from collection.spreadsheets.sheets.reading import read_file
from collection.spreadsheets.sheets.shaping import table_of
from collection.web.units import edge

HERE = Path(__file__).parent / "messy"
FILES = sorted(path for path in HERE.iterdir() if path.name[:2].isdigit() and path.suffix != ".toml")
KNOWN = Known(
    edge("metric"),
    frozenset(map(plate, ("HB 62 A", "TR 71 C", "KD 58 M"))),
    frozenset(map(normal, ("Wendlow Twelve", "1962 Wendlow Twelve", "Tarnley GT", "Brackwater Saloon"))),
)


def reading_of(path):
    """The kind, what is asked of columns, and each row in a line: its values or entries, then its faults."""
    sheets = read_file(path.name, path.read_bytes())
    kind = KINDS[likely_kind(sheets, KNOWN)]
    mapping = guess(sheets, find_shape(sheets, kind, KNOWN), kind, KNOWN)
    table = table_of(sheets, mapping.shape)
    rows = Reader(kind, mapping, KNOWN.edge, {}).rows(table)
    left = [
        f"{letters(at)} left out"
        for at in range(len(table.headings))
        if at not in mapping.columns and at < 60
    ]
    return {
        "as": kind.key,
        "asks": [f"{letters(at)} {what}" for at, what in mapping.questions()] + left,
        "reading": [
            line for row in rows for line in (log_lines(row) if kind.key == "log" else [car_line(row)])
        ],
        "skipped": [f"{name}: {why}" for name, why in table.skipped],
    }


def car_line(row):
    spread(row)
    return _ended(row, "; ".join(f"{key}={_plain(value)}" for key, value in row.values.items()))


def log_lines(row):
    done = row.values.get("done_at")
    car = row.values.get("car.registration") or row.values.get("car.name") or "?"
    when = f"{done.day} {row.values.get('clock') or ''}".strip() if done else "?"
    try:
        entries = told_by(row.values)
    except ValueError as fault:
        return [_ended(row, f"{when} {car}: {fault}")]
    return [_ended(row, f"{when} {car}: {_entry(entry)}") for entry in entries] or [
        _ended(row, f"{when} {car}: “{row.values.get('kind', '')}” is asked")
    ]


def _entry(entry):
    details = [f"{key}={_plain(value)}" for key, value in entry.details.items()]
    readings = [
        f"{it.quantity}{'.' * bool(it.position)}{it.position}={it.value:.6g}" for it in entry.readings
    ]
    note = f" “{entry.note}”" if entry.note else ""
    return " ".join([str(entry.kind), *details, *readings]) + note


def _plain(value):
    return f"{value:.6g}" if isinstance(value, float) else str(value).replace("\n", " / ")


def _ended(row, text):
    faults = "".join(f" ! {key}" for key, _ in row.faults)
    return f"{row.number}: {text}{faults}"


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_a_messy_table_is_read_as_it_should_be(path):
    expected = tomllib.loads(path.with_suffix(".toml").read_text("utf-8"))
    assert reading_of(path) == expected


def test_there_are_forty_of_them_and_each_has_its_reading():
    assert len(FILES) >= 40
    assert all(path.with_suffix(".toml").exists() for path in FILES)
