"""Files that tell one value in a row, beside the name of what was measured: a column is made for each name.

What is read afterwards is the table so made; its first line is the headings.
"""

import io
import re
from dataclasses import replace

import polars as pl

from collection.loggers.reading.columns import WORDS
from collection.loggers.reading.layout import NONE
from collection.loggers.reading.lines import Text
from collection.loggers.reading.numbers import numbers
from collection.loggers.reading.table import Shape, find_table, frame_of

MOST_NAMES = 60  # policy: more names than a logger has sensors are words of another kind
NUMERIC = 0.5  # policy: a column of figures may have many holes
REPEATED = 0.8  # policy: where moments stand so much less often than rows, each is told several times
LOOKED_AT = 20_000  # rows
LAID_OUT = "Each row tells one value with its name: they are laid out as a column for each name."


def laid_out(text: Text) -> tuple[Text, bool]:
    """The text as a table with a column for each name, and whether it had to be made."""
    table = find_table(text)
    head = frame_of(text, table.delimiter, table.start, len(table.names)).head(LOOKED_AT)
    places = _places(head, table)
    if places is None:
        return text, False
    names, value = places
    frame = frame_of(text, table.delimiter, table.start, len(table.names))
    stamp = [str(at) for at in (table.date, table.time) if at != NONE]
    rows = frame.select(
        pl.concat_str(stamp, separator=" ").alias("Time"),
        pl.concat_str([str(at) for at in names], separator=" ", ignore_nulls=True).alias("name"),
        pl.col(str(value)).alias("value"),
    ).filter(pl.col("name") != "")
    if rows["name"].n_unique() > MOST_NAMES:
        return text, False
    wide = rows.pivot("name", index="Time", values="value", aggregate_function="first", maintain_order=True)
    file = io.BytesIO()
    wide.write_csv(file, separator=table.delimiter)
    above = "".join(f"{line}\n" for line in table.above[:-1] if line.strip())
    return replace(text, data=above.encode() + file.getvalue()), True


def _places(head: pl.DataFrame, table: Shape) -> tuple[list[int], int] | None:
    """The columns of names and that of the value; None where each row tells its values side by side."""
    names, values = [], []
    for at in range(len(table.names)):
        if at in (table.date, table.time):
            continue
        column = head[str(at)].drop_nulls()
        column = column.filter(column != "")
        if not len(column):
            continue
        if _is_figures(column):
            values.append(at)
        elif 1 <= column.n_unique() <= MOST_NAMES:
            names.append(at)
    if len(values) != 1 or not names:
        return None
    keys = head.select(pl.concat_str([str(at) for at in names], separator=" ", ignore_nulls=True)).to_series()
    stamps = head.select(
        pl.concat_str([str(at) for at in (table.date, table.time) if at != NONE])
    ).to_series()
    several = 1 < keys.n_unique() <= MOST_NAMES
    repeated = stamps.n_unique() <= REPEATED * len(stamps)
    return (names, values[0]) if several and (repeated or _name_quantities(keys)) else None


def _is_figures(column: pl.Series) -> bool:
    read = numbers(column, ".").value, numbers(column, ",").value
    return any(bool((value == value).mean() >= NUMERIC) for value in read)


def _name_quantities(keys: pl.Series) -> bool:
    """Whether the names are of different quantities: temperature here, humidity there."""
    named = {
        role
        for key in keys.unique().drop_nulls()
        for role, words in WORDS.items()
        if re.search(words[0], key.lower())
    }
    return len(named) > 1
