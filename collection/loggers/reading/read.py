"""One file: its layout guessed, and read by a layout into moments and figures."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.host.zones import stated_zone
from collection.loggers.reading import stamps
from collection.loggers.reading.columns import Seen, alike, figures, roles, unit_of, volt_unit_of
from collection.loggers.reading.faults import UnreadableFile
from collection.loggers.reading.layout import NONE, ROLES, UNITS, VOLT_UNITS, Layout
from collection.loggers.reading.lines import Text
from collection.loggers.reading.numbers import Column, numbers
from collection.loggers.reading.table import find_table, frame_of
from scheduler.vocabulary.units import UNITS as KNOWN_UNITS

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

YEARS_BACK = timedelta(days=30 * 365)  # policy: no logger's file is older; its clock was not set
AHEAD = timedelta(days=1)
COMMA = 0.2  # policy: so many figures with a decimal comma are no slip


@dataclass(frozen=True)
class Bad:
    """How many rows have a fault, the line of the first (from 1), and what stands there."""

    count: int
    line: int
    sample: str = ""


@dataclass(frozen=True)
class Table:
    """The rows (m,) in the order of the file. ``clock_s``: seconds as the file's clock shows them.

    ``offset_s`` (m,): what the stamps themselves say, NaN where nothing. ``value``: a column a role,
    in °C, %, V; a row that has no moment keeps its place with NaN.
    """

    clock_s: Floats
    offset_s: Floats
    value: dict[str, Floats]
    bad: dict[str, Bad]
    start: int

    @property
    def rows(self) -> int:
        """How many lines there are from the first value on."""
        return int(self.clock_s.size)


@dataclass(frozen=True)
class Guess:
    """A layout, on what grounds, and the columns that could be chosen instead."""

    layout: Layout
    grounds: list[str]
    columns: list[Seen]


def guess(text: Text, *, of_battery: bool) -> Guess:
    """The layout of a file; UnreadableFile where it has none."""
    table = find_table(text)
    frame = frame_of(text, table.delimiter, table.start, len(table.names))
    frame = frame.head(200_000)
    decimal = _decimal(frame, (table.date, table.time))
    columns = figures(frame, table.names, decimal, (table.date, table.time))
    by_role = roles(columns, of_battery=of_battery)
    needed = "volts" if of_battery else "temperature"
    if by_role[needed] == NONE:
        raise UnreadableFile(_no_column(needed, table.names, table.start))
    seen = {column.index: column for column in columns}
    unit, ground = unit_of(seen.get(by_role["temperature"]))
    order, undecided, own_offset = _order(frame, table.date, table.time)
    zone = stated_zone([*table.names, *table.above])
    layout = Layout(
        text.encoding,
        table.delimiter,
        table.start,
        decimal,
        table.names,
        table.date,
        table.time,
        order,
        "stamp" if own_offset else "utc" if order.startswith("epoch") else zone or "site",
        by_role["temperature"],
        by_role["humidity"],
        by_role["dew_point"],
        by_role["volts"],
        unit,
        volt_unit_of(seen.get(by_role["volts"])),
        undecided=undecided,
    )
    grounds = [f"Temperatures are taken as {'°F' if unit == 'f' else '°C'} {ground}."] if ground else []
    if zone and layout.zone == zone:
        clock = zone.upper() if zone == "utc" else zone if "/" in zone else f"UTC{zone}"
        grounds.append(f"The file says that its clock is {clock}.")
    if others := alike(columns, by_role):
        grounds.append(f"Sensors stand side by side: {others}. The first is taken; another can be chosen.")
    return Guess(layout, grounds, columns)


def columns_of(text: Text, layout: Layout) -> list[Seen]:
    """The columns of figures under a layout, to choose from."""
    frame = frame_of(text, layout.delimiter, layout.start, len(layout.names))
    return figures(frame, layout.names, layout.decimal, (layout.date, layout.time))


def _no_column(needed: str, names: tuple[str, ...], start: int) -> str:
    shown = ", ".join(names)[:200]
    return (
        f"No column holds {needed}. From line {start + 1} on the columns are {shown}: export the file "
        f"with a column of {'volts' if needed == 'volts' else 'temperature'} beside the date and time."
    )


def _decimal(frame: pl.DataFrame, besides: tuple[int, int]) -> str:
    cells = [frame[name].head(1000).drop_nulls() for name in frame.columns if int(name) not in besides]
    comma = sum(int(cell.str.contains(r"^-?\d+,\d+\D*$").sum()) for cell in cells)
    point = sum(int(cell.str.contains(r"^-?\d+\.\d+\D*$").sum()) for cell in cells)
    return "," if comma > point and comma > COMMA * max(1, sum(len(c) for c in cells)) / len(cells) else "."


def _order(frame: pl.DataFrame, date: int, time: int) -> tuple[str, bool, bool]:
    """The order of a stamp's numbers, whether it was guessed, whether the stamps name their own zone."""
    column = _stamps(frame, date, time)
    first = column[0] or ""
    if time == NONE and (order := stamps.order_of_number(first)):
        return order, False, False
    if pl.Series([first]).str.contains(stamps.COMPACT)[0]:
        return "compact", False, False
    parts = stamps.parts_of(column, compact=False)
    order, undecided = stamps.order_of(parts)
    return order, undecided, bool((~np.isnan(parts.offset_s)).mean() > 0.5)


def _stamps(frame: pl.DataFrame, date: int, time: int) -> pl.Series:
    if time == NONE:
        return frame[str(date)]
    return frame.select(pl.concat_str(str(date), str(time), separator=" ")).to_series()


def read(text: Text, layout: Layout, *, now: datetime, tell: Callable[[str], None]) -> Table:
    """The whole file by a layout; ``tell`` hears how far it is. UnreadableFile where no row can be read."""
    tell("Dividing the lines into cells")
    frame = frame_of(text, layout.delimiter, layout.start, len(layout.names))
    if frame.is_empty():
        raise UnreadableFile("There are no rows below the headings: fetch the file from the logger again.")
    tell(f"Reading {len(frame):,} dates and times")
    column = _stamps(frame, layout.date, layout.time)
    clock_s, offset_s = _moments(column, layout.order)
    bad = {"stamp": _bad(np.isnan(clock_s) & ~_blank(frame), layout, column)}
    unset = (clock_s < (now - YEARS_BACK).timestamp()) | (clock_s > (now + AHEAD).timestamp())
    bad["unset"] = _bad(unset, layout, column)
    clock_s = np.where(unset, np.nan, clock_s)
    if np.isnan(clock_s).all():
        raise UnreadableFile(_no_stamp(bad, layout))
    tell("Reading the figures")
    value: dict[str, Floats] = {}
    for role in ROLES:
        index = getattr(layout, role)
        if index != NONE:
            value[role], faults = _figures(frame[str(index)], role, layout)
            bad |= faults
    return Table(clock_s, offset_s, value, {name: b for name, b in bad.items() if b.count}, layout.start)


def _blank(frame: pl.DataFrame) -> Bools:
    empty = frame.select(pl.all_horizontal((pl.all().is_null()) | (pl.all() == ""))).to_series()
    return np.asarray(empty.fill_null(value=True).to_numpy())


def _moments(column: pl.Series, order: str) -> tuple[Floats, Floats]:
    if order in ("epoch_s", "epoch_ms", "serial"):
        moment = stamps.counted(column, order)
        return moment, np.full(moment.size, np.nan)
    parts = stamps.parts_of(column, compact=order == "compact")
    return stamps.moments(parts, order), parts.offset_s


def _no_stamp(bad: dict[str, Bad], layout: Layout) -> str:
    if bad["unset"].count:
        return (
            f"Every row is dated more than 30 years ago or in the future, such as “{bad['unset'].sample}” in "
            f"line {bad['unset'].line}: choose another order of day and month, or set the logger's clock."
        )
    return (
        f"No row holds a date in the order chosen; line {layout.start + 1} says “{bad['stamp'].sample}”: "
        "choose another order of day, month and year."
    )


def _figures(text: pl.Series, role: str, layout: Layout) -> tuple[Floats, dict[str, Bad]]:
    column: Column = numbers(text, layout.decimal)
    value = column.value
    if role in ("temperature", "dew_point"):
        value = _to_si(value, "°C", UNITS[layout.unit])
    if role == "volts":
        value = _to_si(value, "V", VOLT_UNITS[layout.volt_unit])
    return value, {
        f"words_{role}": _bad(column.words, layout, text),
        f"codes_{role}": _bad(column.codes, layout, text),
    }


def _to_si(value: Floats, stored: str, name: str) -> Floats:
    unit = next(each for each in KNOWN_UNITS[stored] if each.name == name)
    return np.asarray(value * unit.factor + unit.offset)


def _bad(where: Bools, layout: Layout, text: pl.Series) -> Bad:
    count = int(where.sum())
    if not count:
        return Bad(0, 0)
    first = int(where.argmax())
    return Bad(count, layout.start + first + 1, str(text[first] or "")[:40])
