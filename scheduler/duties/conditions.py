"""The arrays that describe a fleet: one row a car, NaN or -1 where the record is silent.

Days are proleptic ordinals (``date.toordinal()``) as floats, so that arrays of dates subtract.
Codes are positions in the tables of ``scheduler.physics.materials`` and in the rows of the vocabulary.
Nothing here is assumed: the mechanism that needs a missing value takes its assumption from
its own table, says so in the explanation and widens the window. What is merely usual for a kind of car is no
more known: it is marked ``…_assumed``, is the likely value, and the window is as wide as without it.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, fields
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

from scheduler.physics.climate import Place
from scheduler.vocabulary import fluids, quantities, tags
from scheduler.vocabulary import regimes as rows
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

UNKNOWN = -1

REGIMES = tuple(row.code for row in rows.REGIMES)
FUEL_SYSTEMS = tuple(row.code for row in rows.FUEL_SYSTEMS)
VENTINGS = tuple(row.code for row in rows.VENTINGS)
TANK_MATERIALS = tuple(row.code for row in rows.TANK_MATERIALS)
FLUIDS = tuple(row.code for row in fluids.FLUIDS)
# What an open tag says; each revokes starting, moving or both.
TAGS = tuple(row.code for row in tags.TAGS)
# What was measured; the unit of each.
QUANTITIES = {row.code: row.unit or "1" for row in quantities.QUANTITIES}
READING_KINDS = tuple(QUANTITIES)
FUEL_EVENTS = ("filled", "added", "drained", "stabilised", "gauged", "cold_additive")


@dataclass(frozen=True)
class Readings:
    """Measured values of the whole fleet, any order, shape (m,) each.

    ``position`` tells tyres or cells apart: 0..n-1, or -1 for the car as a whole.
    ``temperature_c`` and ``rest_hours`` are NaN where nobody wrote them down.
    """

    row: Ints
    day: Floats
    kind: Ints
    value: Floats
    temperature_c: Floats
    rest_hours: Floats
    position: Ints

    @classmethod
    def none(cls) -> "Readings":
        """A table without readings."""
        ints, floats = np.empty(0, np.int64), np.empty(0)
        return cls(ints, floats, ints, floats, floats, floats, ints)


@dataclass(frozen=True)
class FuelEvents:
    """What went into and out of each tank, in order of day within a row, shape (m,) each.

    ``filled`` sets the tank to ``litres`` of fresh fuel; ``added`` adds fresh fuel; ``drained``
    removes ``litres`` (NaN: everything); ``stabilised`` and ``cold_additive`` dose what is there; ``gauged``
    says how many litres it was found to hold.
    ``bio_share`` is the volume fraction of ethanol or FAME in what was filled or added; ``cfpp_c`` where that
    diesel blocks a filter, °C, NaN: as sold in its season.
    """

    row: Ints
    day: Floats
    kind: Ints
    litres: Floats
    bio_share: Floats
    cfpp_c: Floats

    @classmethod
    def none(cls) -> "FuelEvents":
        """A table without events."""
        ints, floats = np.empty(0, np.int64), np.empty(0)
        return cls(ints, floats, ints, floats, floats, floats)


@dataclass(frozen=True)
class Charges:
    """Full charges and spells on a maintainer: shape (m,) each; ``until`` NaN while still on.

    A charge off the maintainer has ``until == day``; ``completed`` says that it reached full.
    """

    row: Ints
    day: Floats
    until: Floats
    completed: Bools

    @classmethod
    def none(cls) -> "Charges":
        """A table without charges."""
        return cls(np.empty(0, np.int64), np.empty(0), np.empty(0), np.empty(0, bool))


@dataclass(frozen=True)
class PutIn:
    """What part charges and drives put into batteries, any order, shape (m,) each.

    ``amps`` of a charger for ``hours``, NaN where nobody wrote it down; or, ``by_engine``, what the engine
    had to spare while the car went at ``kmh`` on average, NaN not known.
    """

    row: Ints
    day: Floats
    hours: Floats
    amps: Floats
    kmh: Floats
    by_engine: Bools

    @classmethod
    def none(cls) -> "PutIn":
        """A table without entries."""
        floats = np.empty(0)
        return cls(np.empty(0, np.int64), floats, floats, floats, floats, np.empty(0, bool))


@dataclass(frozen=True)
class Looks:
    """Fluids that were looked at, any order, shape (m,) each: ``fluid`` a position in ``FLUIDS``; ``good``:
    clean and at its level, else it is to be changed."""

    row: Ints
    day: Floats
    fluid: Ints
    good: Bools

    @classmethod
    def none(cls) -> "Looks":
        """A table without looks."""
        ints = np.empty(0, np.int64)
        return cls(ints, np.empty(0), ints, np.empty(0, bool))


@dataclass(frozen=True)
class Rules:
    """What keepers decided of one duty of one car, in place of our models: shape (m,) each.

    ``duty`` is a position in the rows of the vocabulary. ``interval_days``: it falls due so long after it
    was last done. ``not_before``: no date of it is earlier. ``put_off_until``: it is on hold until then.
    Each of these is NaN where nothing was decided. ``not_for``: it is never asked for. One row at the most
    for a car and a duty.
    """

    row: Ints
    duty: Ints
    interval_days: Floats
    not_before: Floats
    put_off_until: Floats
    not_for: Bools

    @classmethod
    def none(cls) -> "Rules":
        """A table without rules."""
        ints, floats = np.empty(0, np.int64), np.empty(0)
        return cls(ints, ints, floats, floats, floats, np.empty(0, bool))


@dataclass(frozen=True)
class Fleet:
    """A fleet as a structure of arrays, shape (n,) unless stated; see module for NaN and -1."""

    # the car and where it stands
    place: Ints  # index into ``places``
    regime: Ints
    fuel_system: Ints
    fuel_system_assumed: Bools  # it is that of its kind of car: nobody has looked
    model_year: Floats
    system_volts: Floats
    system_volts_assumed: Bools  # likewise
    stored_since: Floats
    extraction: Bools  # exhaust extraction at the bay
    on_stands: Bools
    # the last time of each of five events, and of what else resets a duty
    last_road_use: Floats
    last_engine_run: Floats
    last_full_warm: Floats
    last_moved: Floats
    last_attended: Floats
    last_inspected: Floats
    # battery
    chemistry: Ints
    capacity_ah: Floats
    battery_volts: Floats
    battery_made: Floats
    battery_installed: Floats
    drain_a: Floats  # measured key-off drain
    isolated: Bools
    on_maintainer: Bools
    full_sg: Floats  # specific gravity of this battery's full charge, where its label says
    # fuel
    fuel: Ints  # scheduler.physics.fuel.fuels
    tank_litres: Floats
    tank_material: Ints
    venting: Ints
    # fluids: one column a fluid
    fluid_type: Ints  # scheduler.physics.fluids.fluids
    fluid_changed: Floats
    coolant_share: Floats  # volume fraction of glycol
    # tyres
    tyre_made: Floats  # the oldest fitted
    placard_kpa: Floats
    # open tags: one column a kind of tag
    tags: Bools
    places: tuple[Place, ...]
    readings: Readings = field(default_factory=Readings.none)
    fuel_events: FuelEvents = field(default_factory=FuelEvents.none)
    charges: Charges = field(default_factory=Charges.none)
    put_in: PutIn = field(default_factory=PutIn.none)
    looks: Looks = field(default_factory=Looks.none)
    rules: Rules = field(default_factory=Rules.none)

    def __post_init__(self) -> None:
        n = len(self.place)
        for spec in fields(self):
            column = getattr(self, spec.name)
            if isinstance(column, np.ndarray) and len(column) != n:
                raise BadInput(spec.name, f"has {len(column)} rows, place has {n}")
        if n and not (self.place.min() >= 0 and self.place.max() < len(self.places)):
            raise BadInput("place", "points outside places")

    def __len__(self) -> int:
        return len(self.place)

    def take(self, rows: npt.ArrayLike) -> "Fleet":
        """The same fleet cut to some rows (shape (k,) of positions), its tables with it."""
        rows = np.asarray(rows, np.int64)
        position = np.full(len(self), UNKNOWN)
        position[rows] = np.arange(len(rows))
        return self._cut(rows, _take_events, position)

    def repeated(self, rows: npt.ArrayLike) -> "Fleet":
        """Row by row copies of some rows (k,), any row as often as it is named, its events with each."""
        rows = np.asarray(rows, np.int64)
        return self._cut(rows, _repeat_events, rows)

    def _cut(self, rows: Ints, of_events: Callable[[Any, Ints], Any], by: Ints) -> "Fleet":
        parts: dict[str, Any] = {}
        for spec in fields(self):
            column = getattr(self, spec.name)
            if isinstance(column, np.ndarray):
                parts[spec.name] = column[rows]
            elif isinstance(column, Readings | FuelEvents | Charges | PutIn | Looks | Rules):
                parts[spec.name] = of_events(column, by)
            else:
                parts[spec.name] = column
        return Fleet(**parts)


Events = TypeVar("Events", bound=Readings | FuelEvents | Charges | PutIn | Looks | Rules)


def _take_events(table: Events, position: Ints) -> Events:
    keep = position[table.row] >= 0
    columns = {spec.name: getattr(table, spec.name)[keep] for spec in fields(table)}
    return type(table)(**columns | {"row": position[columns["row"]]})


def _repeat_events(table: Events, rows: Ints) -> Events:
    order = np.argsort(table.row, kind="stable")
    of_row = table.row[order]
    begin = np.searchsorted(of_row, rows, side="left")
    count = np.searchsorted(of_row, rows, side="right") - begin
    within = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
    picked = order[np.repeat(begin, count) + within]
    columns = {spec.name: getattr(table, spec.name)[picked] for spec in fields(table)}
    return type(table)(**columns | {"row": np.repeat(np.arange(rows.size), count)})
