"""What a cell of a table may hold, and how a table is kept small between two pages."""

import json
import zlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

from collection.host.refusal import Refused

SHOWN = 60  # signs of a cell that a fault repeats
MOST_KEPT = 150_000_000  # bytes of tables as text; policy: five times what is read of one file


@dataclass(frozen=True)
class Formula:
    """A formula of which the file holds no value: nobody has computed it."""

    text: str

    def __str__(self) -> str:
        return self.text


Cell = str | int | float | bool | datetime | date | time | Formula | None
Row = list[Cell]


class Unreadable(Refused):
    """A file that cannot be taken as a table; says what to do about it."""


@dataclass(frozen=True)
class Sheet:
    """One table of a file, its rows cut after their last cell."""

    name: str
    rows: list[Row]


def text_of(cell: Cell) -> str:
    """A cell as somebody would have typed it; 12.0 is 12."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
    if isinstance(cell, datetime):
        return cell.isoformat(sep=" ")
    return cell.isoformat() if isinstance(cell, date | time) else str(cell).strip()


def shown(cell: Cell) -> str:
    """A cell as a fault repeats it: its beginning."""
    text = text_of(cell)
    return text if len(text) <= SHOWN else f"{text[: SHOWN - 1]}…"


def is_blank(cell: Cell) -> bool:
    """Nothing, or blanks only."""
    return cell is None or (isinstance(cell, str) and not cell.strip())


def trimmed(cells: Sequence[Cell]) -> Row:
    """The row without its empty end."""
    row = [None if is_blank(cell) else cell for cell in cells]
    while row and row[-1] is None:
        row.pop()
    return row


_TAGS: tuple[tuple[type, str], ...] = ((datetime, "m"), (date, "d"), (time, "t"), (Formula, "f"))
_READ: dict[str, Callable[[str], Cell]] = {
    "m": datetime.fromisoformat,
    "d": date.fromisoformat,
    "t": time.fromisoformat,
    "f": Formula,
}


def pack(sheets: Sequence[Sheet]) -> bytes:
    """The tables as bytes to be stored: values only, nothing of the file that brought them."""
    return zlib.compress(json.dumps([[it.name, it.rows] for it in sheets], default=_plain).encode(), 6)


def unpack(data: bytes) -> list[Sheet]:
    """The tables that ``pack`` made bytes of; Unreadable where they would be more than any file's."""
    unpacking = zlib.decompressobj()
    text = unpacking.decompress(data, MOST_KEPT)
    if unpacking.unconsumed_tail:
        raise Unreadable("These tables hold more than can be read at once: send the one that matters.")
    kept = json.loads(text)
    return [Sheet(name, [[_cell(value) for value in row] for row in rows]) for name, rows in kept]


def _plain(value: Any) -> dict[str, str]:
    tag = next(tag for type_, tag in _TAGS if isinstance(value, type_))
    return {tag: value.text if isinstance(value, Formula) else value.isoformat()}


def _cell(value: Any) -> Cell:
    if not isinstance(value, dict):
        cell: Cell = value
        return cell
    ((tag, text),) = value.items()
    return _READ[tag](text)
