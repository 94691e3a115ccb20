"""Where the table of a logger's file begins, what divides its cells, and the whole of it as text."""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass

import polars as pl

from collection.loggers.reading.faults import UnreadableFile
from collection.loggers.reading.layout import DELIMITERS, NONE
from collection.loggers.reading.lines import Text
from collection.loggers.reading.stamps import (
    CALLED_CLOCK,
    is_bare_clock,
    is_clock,
    is_stamp,
    may_be_a_value,
    order_of_number,
)

LOOKED_AT = 400  # policy: a preamble is shorter, and the layout shows in as many lines
RUN = 3  # policy: so many rows alike are a table
MOST_COLUMNS = 200  # policy: a logger with more is none
LONGEST_NAME = 80
LONGEST_LINE = 20_000  # characters, among the first; policy: 200 columns of a hundred each
MOST_ROWS = 6_000_000  # policy: eleven years of minutes
Rows = list[list[str]]


@dataclass(frozen=True)
class Shape:
    """The table: what divides its cells, its first line with values (from 0), its headings, its stamps."""

    delimiter: str
    start: int
    names: tuple[str, ...]
    date: int
    time: int
    above: tuple[str, ...]  # lines before it, as they stand


def find_table(text: Text) -> Shape:
    """The table of the file; UnreadableFile where no line looks like a reading."""
    lines = text.head(LOOKED_AT)
    for number, line in enumerate(lines, 1):
        if len(line) > LONGEST_LINE:
            raise UnreadableFile(
                f"Line {number} has {len(line):,} characters: no reading has so many. Send the logger's file."
            )
    best: tuple[int, int, str, int, int, int] | None = None
    for delimiter in DELIMITERS:
        rows = split(lines, delimiter)
        first = _first_row(rows)
        if first:
            start, date, time = first
            alike = sum(_stamped(row, date, time) for row in rows[start:])
            score = (alike, len(rows[start]), delimiter, start, date, time)
            best = max(best, score) if best else score
    if best is None:
        raise UnreadableFile(_no_table(lines))
    _, width, delimiter, start, date, time = best
    if width > MOST_COLUMNS:
        raise UnreadableFile(
            f"Line {start + 1} has {width} columns: no logger writes more than {MOST_COLUMNS}."
        )
    return Shape(delimiter, start, _names(lines, delimiter, start, width), date, time, tuple(lines[:start]))


def split(lines: list[str], delimiter: str) -> Rows:
    """Lines as cells, each line for itself: a stray quotation mark spoils no other line."""
    rows = []
    for line in lines:
        try:
            cells = next(csv.reader([line], delimiter=delimiter), [])
        except csv.Error:
            cells = line.split(delimiter)
        rows.append([cell.strip() for cell in cells])
    return rows


def _first_row(rows: Rows) -> tuple[int, int, int] | None:
    """The first of several rows with a stamp and a figure, its column of dates and that of times."""
    for start, row in enumerate(rows):
        for place in _places_of(row):
            following = [r for r in rows[start : start + 2 * RUN] if len(r) > 1]
            alike = sum(_stamped(r, *place) for r in following)
            figure = any(_figure(cell) for at, cell in enumerate(row) if at not in place)
            fits = _is_time(rows[start:], place[1]) and _is_called_time(rows[start:], rows[:start], place[1])
            if alike >= min(RUN, len(following)) and figure and fits:
                return start, *place
    return None


def _places_of(row: list[str]) -> Iterator[tuple[int, int]]:
    """Where the stamp may stand: a date with the time beside it, and the date alone.

    A date as such comes first, then a bare number that may count seconds or days; a row's number counts
    neither.
    """
    cells = sorted(enumerate(row), key=lambda numbered: order_of_number(numbered[1]) != "")
    for column, cell in cells:
        if not is_stamp(cell):
            continue
        for time in (column + 1, column - 1):
            if ":" not in cell and 0 <= time < len(row) and (is_clock(row[time]) or is_bare_clock(row[time])):
                yield column, time
        yield column, NONE
        return


def _is_time(rows: Rows, time: int) -> bool:
    """Whether a column of times is one: what may be a value must be a time in every row that we look at."""
    cells = [row[time] for row in rows if len(row) > max(time, 1)] if time != NONE else []
    return not any(map(may_be_a_value, cells)) or all(map(is_clock, cells))


def _is_called_time(rows: Rows, above: Rows, time: int) -> bool:
    """Whether times without a mark stand under a heading that says so: else they are figures."""
    cells = [row[time] for row in rows if len(row) > max(time, 1)] if time != NONE else []
    if not any(map(is_bare_clock, cells)):
        return True
    return any(len(row) > time and CALLED_CLOCK.search(row[time]) for row in above)


def _stamped(row: list[str], date: int, time: int) -> bool:
    return (
        len(row) > max(date, time)
        and is_stamp(row[date])
        and (time == NONE or is_clock(row[time]) or is_bare_clock(row[time]))
        and len(row) > (1 if time == NONE else 2)
    )


def _figure(cell: str) -> bool:
    return any(mark.isdigit() for mark in cell)


def _names(lines: list[str], delimiter: str, start: int, width: int) -> tuple[str, ...]:
    """Headings from the last line before the values, if it is one; numbers for what has none."""
    above = [row for row in split(lines[:start], delimiter) if any(row)]
    heading = above[-1] if above else []
    is_heading = len(heading) >= max(2, width - 1) and not any(is_stamp(cell) for cell in heading)
    cells = heading if is_heading else []
    return tuple(
        cells[i][:LONGEST_NAME] if i < len(cells) and cells[i] else f"Column {i + 1}" for i in range(width)
    )


def _no_table(lines: list[str]) -> str:
    shown = next((line.strip()[:60] for line in lines if line.strip()), "")
    return (
        "No line holds a date with a time and a figure beside it, divided by commas, semicolons, tabs or "
        f"bars. The file begins “{shown}”: export the readings as CSV, with a date and time in each row."
    )


def frame_of(text: Text, delimiter: str, start: int, width: int) -> pl.DataFrame:
    """All rows from line ``start`` as text, ``width`` columns named "0", "1"…; row i is line start + i."""
    data = _from_line(text.data, start)
    if data.count(b"\n") > MOST_ROWS:
        raise UnreadableFile(f"The file has more than {MOST_ROWS:,} rows: send it in parts.")
    names = [str(i) for i in range(width)]
    try:
        frame = pl.read_csv(
            io.BytesIO(data),
            has_header=False,
            separator=delimiter,
            infer_schema=False,
            quote_char='"' if _quotes_matter(data, delimiter) else None,
            truncate_ragged_lines=True,
            schema=dict.fromkeys(names, pl.String),
            raise_if_empty=False,
        )
    except pl.exceptions.PolarsError as error:
        raise UnreadableFile(
            f"The rows from line {start + 1} on cannot be told apart: export the readings as CSV again."
        ) from error
    return frame.with_columns(pl.all().str.strip_chars(' "\t'))


def _quotes_matter(data: bytes, delimiter: str) -> bool:
    """Whether a divider stands within quotation marks; else a stray mark is only a mark."""
    lines = data[: data.find(b"\n", 20_000) + 1 or None].decode("utf-8", "replace").split("\n")[:LOOKED_AT]
    return any(
        len(row) != line.count(delimiter) + 1
        for row, line in zip(split(lines, delimiter), lines, strict=True)
        if line.strip()
    )


def _from_line(data: bytes, line: int) -> bytes:
    at = 0
    for _ in range(line):
        at = data.find(b"\n", at) + 1
    return data[at:]
