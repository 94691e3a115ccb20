"""What the record says of a fleet's batteries: charges, maintainer spells, rested readings.

Readings count where they can be true: volts such a battery can have at all, rested at least three
hours, not of the battery before. The rest is refused, and counted. One taken on the maintainer says
nothing while the maintainer works; a low one says that it does not, and ends its spell.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scheduler.duties.battery.charge.pack import nominal_volts
from scheduler.duties.conditions import READING_KINDS, Bools, Fleet, Floats, Ints, Readings
from scheduler.duties.measured import Newest, newest
from scheduler.duties.windows import Day, each_row
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.battery.charge_state import (
    LITHIUM_CELL_LEAST_V,
    NOMINAL_V,
    SOUND_CELL_LEAST_V,
    believable,
    soc_from_sg,
    soc_from_volts,
)
from scheduler.physics.materials import at

ROW_STRIDE = 1e7  # above any ordinal, so that row and day make one sorting key
# "Charged in full": a charger of several stages goes green at 0.90 to 1 (a maker's manual, published); a
# maintainer stays on beyond.
CHARGED_SOC, MAINTAINED_SOC = 0.97, 1.0
FULL_SD = 0.02  # policy: how far one full charge differs from the next
VOLTS, GRAVITY, CHARGE, PART = "rested volts", "hydrometer", "completed charge", "part charge or drive"
KINDS = (VOLTS, GRAVITY, CHARGE, PART)
_SG_LEAST, _SG_MOST = 1.0, 1.35  # water; stronger than any battery acid
FLOATED_LEAST_SOC = 0.75  # policy: a maintainer that works holds far more, uncompensated in the cold too


@dataclass(frozen=True)
class Events:
    """Everything known of the batteries by row and day, (m,) each; within a day a charge comes last.

    ``soc`` is NaN for a charge that did not complete: it breaks the line, and says a level only once what
    went in was credited.
    """

    row: Ints
    day: Floats
    soc: Floats
    sd: Floats
    kind: Ints
    # what the meter or the hydrometer showed; the day a charge began; of a part charge its position in its
    # table
    shown: Floats

    def keep(self, which: Bools | npt.NDArray[np.int_]) -> "Events":
        """Only some of the events, by a mask (m,) or by their positions (k,) in a new order."""
        return Events(*(column[which] for column in vars(self).values()))


@dataclass(frozen=True)
class Evidence:
    """``events``; since when each car is on a maintainer (n,), NaN: it is not, or does not charge;
    readings refused (n,); where a low reading shows that the maintainer failed (n,)."""

    events: Events
    floating_since: Floats
    refused: Ints
    maintainer_failed: Bools


def gather(fleet: Fleet, today: Day) -> Evidence:
    """The record of every battery up to ``today``, in order."""
    today = each_row(today, len(fleet))
    charges, since = _charges(fleet, today), _floating_since(fleet, today)
    readings, refused, failed = _readings(fleet, today, since)
    parts = [vars(table).values() for table in (readings, charges, _part_charges(fleet, today))]
    events = Events(*(np.concatenate(columns) for columns in zip(*parts, strict=True)))
    order = np.lexsort((events.kind, events.day, events.row))
    return Evidence(events.keep(order), np.where(failed, np.nan, since), refused, failed)


def _of_this_battery(fleet: Fleet, row: Ints, day: Floats, today: Floats) -> Bools:
    return np.asarray((day <= today[row]) & ~(day < fleet.battery_installed[row]))


def _charges(fleet: Fleet, today: Floats) -> Events:
    """Charges and ended maintainer spells, at the day they ended."""
    table = fleet.charges
    kept = _of_this_battery(fleet, table.row, table.until, today)
    row, day, full = table.row[kept], table.until[kept], table.completed[kept]
    level = np.where(table.day[kept] < day, MAINTAINED_SOC, CHARGED_SOC)
    level = np.where(full, level, np.nan)
    kind = np.full(row.size, KINDS.index(CHARGE))
    return Events(row, day, level, np.full(row.size, FULL_SD), kind, table.day[kept])


def _part_charges(fleet: Fleet, today: Floats) -> Events:
    """Charges that were not completed, and drives, of which it is known for how long."""
    table = fleet.put_in
    (kept,) = np.nonzero(_of_this_battery(fleet, table.row, table.day, today))
    none, kind = np.full(kept.size, np.nan), np.full(kept.size, KINDS.index(PART))
    return Events(table.row[kept], table.day[kept], none, none, kind, kept.astype(float))


def _floating_since(fleet: Fleet, today: Floats) -> Floats:
    """The day the present spell began (n,), NaN off a maintainer; undated, when storage began, else -inf."""
    table = fleet.charges
    on = (table.day <= today[table.row]) & ~(table.until <= today[table.row])
    since = np.full(len(fleet), np.nan)
    np.fmax.at(since, table.row[on], table.day[on])
    undated = np.minimum(np.fmax(fleet.stored_since, fleet.battery_installed), today)
    undated = np.where(np.isnan(undated), -np.inf, undated)
    return np.where(np.isnan(since) & fleet.on_maintainer, undated, since)


def _readings(fleet: Fleet, today: Floats, floating_since: Floats) -> tuple[Events, Ints, Bools]:
    """Believable readings as states of charge, how many each car's were refused, whose maintainer failed."""
    table = fleet.readings
    ours = np.isin(table.kind, [READING_KINDS.index("rested_volts"), READING_KINDS.index("specific_gravity")])
    ours &= _of_this_battery(fleet, table.row, table.day, today)
    volts, bad_volts = _from_volts(fleet, _pick(table, ours, "rested_volts"))
    gravity, bad_gravity = _from_gravity(fleet, _pick(table, ours, "specific_gravity"))
    events = Events(
        *(np.concatenate(p) for p in zip(vars(volts).values(), vars(gravity).values(), strict=True))
    )
    on_it = _on_maintainer(fleet, events.row, events.day) | (events.day >= floating_since[events.row])
    low = on_it & (events.soc < FLOATED_LEAST_SOC)
    put_right = np.fmax(floating_since, _full_since(fleet, today))
    failed = np.zeros(len(fleet), bool)
    failed[events.row[low & (events.day > put_right[events.row])]] = True
    refused = np.bincount(np.concatenate([bad_volts, bad_gravity]), minlength=len(fleet))
    return events.keep(~on_it | low), refused, failed


def volts_read(fleet: Fleet, today: Day) -> Newest:
    """The newest rested volts of each battery since its last full charge, believable or not."""
    since = np.fmax(fleet.battery_installed, _full_since(fleet, each_row(today, len(fleet))))
    return newest(fleet, "rested_volts", since, today, -np.inf, np.inf)


def unsound_since(fleet: Fleet, today: Day) -> Floats:
    """The day of the newest rested volts since the last full charge, where no sound battery shows them (n,).

    Lead: a cell is dead, shorted or reversed, or something still draws on it. Lithium: its management
    has cut it off, or its cells are below what may be charged.
    """
    read = volts_read(fleet, today)
    cells = at(BATTERIES, fleet.chemistry, "cells_of_12v") * nominal_volts(fleet) / NOMINAL_V
    lead = at(BATTERIES, fleet.chemistry, "lead").astype(bool)
    least = np.where(lead, SOUND_CELL_LEAST_V.value, LITHIUM_CELL_LEAST_V.value)
    return np.where(read.value < least * cells, read.day, np.nan)


def _full_since(fleet: Fleet, today: Floats) -> Floats:
    """The day of each car's last full charge (n,), -inf for none."""
    table, since = fleet.charges, np.full(len(fleet), -np.inf)
    full = table.completed & (table.until <= today[table.row])
    np.maximum.at(since, table.row[full], table.until[full])
    return since


def _pick(table: Readings, mask: Bools, kind: str) -> Readings:
    mask = mask & (table.kind == READING_KINDS.index(kind))
    return Readings(*(column[mask] for column in vars(table).values()))


def _on_maintainer(fleet: Fleet, row: Ints, day: Floats) -> Bools:
    """Whether each day (m,) falls within a maintainer spell of its car."""
    table = fleet.charges
    if not table.row.size:
        return np.zeros(row.size, bool)
    key = table.row * ROW_STRIDE + table.day
    order = np.argsort(key)
    last = np.searchsorted(key[order], row * ROW_STRIDE + day, side="right") - 1
    spell = order[np.maximum(last, 0)]
    same = (last >= 0) & (table.row[spell] == row)
    return np.asarray(same & ~(table.until[spell] <= day))


def air_at(fleet: Fleet, row: Ints, day: Floats) -> Floats:
    """Mean temperature of each reading's place on its day (m,), where nobody wrote it down."""
    air = np.empty(row.size)
    for index, place in enumerate(fleet.places):
        here = fleet.place[row] == index
        offset = np.clip(day[here] - place.first_day, 0, place.days - 1).astype(np.int64)
        air[here] = place.mean_c[offset]
    return air


def _temperature(fleet: Fleet, table: Readings) -> Floats:
    return np.where(np.isnan(table.temperature_c), air_at(fleet, table.row, table.day), table.temperature_c)


def _from_volts(fleet: Fleet, table: Readings) -> tuple[Events, Ints]:
    chemistry, nominal_v = fleet.chemistry[table.row], nominal_volts(fleet)[table.row]
    soc, sd = soc_from_volts(
        table.value,
        _temperature(fleet, table),
        table.rest_hours,
        chemistry,
        nominal_v,
        fleet.full_sg[table.row],
    )
    good = believable(table.value, chemistry, nominal_v) & ~np.isnan(soc)
    events = Events(table.row, table.day, soc, sd, np.full(soc.size, KINDS.index(VOLTS)), table.value)
    return events.keep(good), table.row[~good]


def _from_gravity(fleet: Fleet, table: Readings) -> tuple[Events, Ints]:
    """Cells read on one day are averaged; a sealed battery has no hydrometer reading."""
    wet = at(BATTERIES, fleet.chemistry[table.row], "vented").astype(bool)
    good = wet & (table.value >= _SG_LEAST) & (table.value <= _SG_MOST)
    row, day = table.row[good], table.day[good]
    warm = _temperature(fleet, table)[good]
    soc, sd = soc_from_sg(table.value[good], warm, fleet.full_sg[row])
    _, first, group = np.unique(row * ROW_STRIDE + day, return_index=True, return_inverse=True)
    cells = np.maximum(np.bincount(group, minlength=first.size), 1)
    mean_soc, mean_sd, shown = (
        np.bincount(group, x, minlength=first.size) / cells for x in (soc, sd, table.value[good])
    )
    kind = np.full(first.size, KINDS.index(GRAVITY))
    return Events(row[first], day[first], mean_soc, mean_sd, kind, shown), table.row[~good]
