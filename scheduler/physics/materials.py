"""Published parameter sets: one table a noun, one row a material, each with its source.

The last row of every table is "unknown", so that code -1 finds it.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from scheduler.vocabulary.constants import Constant
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]
NOT_GIVEN = (np.nan, np.nan, np.nan)


def at(table: Sequence[object], codes: npt.ArrayLike, attribute: str) -> Floats:
    """One attribute of the rows that ``codes`` (shape (n,), -1: unknown) point at.

    A ``Constant`` gives shape (3, n): low, likely, high (NaN where a row has none); a plain
    number or a flag gives shape (n,). BadInput: a code that no row has.
    """
    codes = np.asarray(codes, np.int64)
    if ((codes < -1) | (codes >= len(table))).any():
        raise BadInput("codes", f"must lie in -1 to {len(table) - 1}")
    return np.asarray(_column(table, attribute)[..., codes])


# Columns already made, with their tables, which are constants of their modules.
_columns: dict[tuple[int, str], tuple[Sequence[object], Floats]] = {}


def _column(table: Sequence[object], attribute: str) -> Floats:
    """One attribute of every row, (rows,) or (3, rows)."""
    key = (id(table), attribute)
    if key not in _columns:
        cells = [getattr(row, attribute) for row in table]
        if any(isinstance(cell, Constant) for cell in cells):
            cells = [NOT_GIVEN if cell is None else cell.range for cell in cells]
        _columns[key] = (table, np.array(cells, float).T)
    return _columns[key][1]


def position(table: Sequence[object], name: str) -> int:
    """The code of the row called ``name``; BadInput names the choices."""
    names = [getattr(row, "name", "") for row in table]
    if name not in names:
        raise BadInput("name", f"{name!r} is none of {', '.join(names)}")
    return names.index(name)
