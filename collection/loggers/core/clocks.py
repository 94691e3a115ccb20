"""The clock of a file as moments in UTC, and what its summer time shows."""

from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np

from collection.host.zones import changes, fixed_offset_s, is_place, winter_offset_s
from collection.loggers.reading.layout import Layout
from collection.loggers.reading.read import Floats, Table
from scheduler.loggers import local_to_utc, typical_step
from scheduler.loggers.zone import InUtc

SLACK = 2.0  # rows a step; a logger that skips one is not yet one that changed its clock


@dataclass(frozen=True)
class Clock:
    """Moments (m,) in UTC, the layout with the zone that was taken, and what there is to say of it."""

    second: Floats
    layout: Layout
    notes: list[str]


def in_utc(table: Table, layout: Layout, zone: str, *, guessed: bool) -> Clock:
    """The rows' moments; a zone that was only guessed gives way to what the file's own times show."""
    local = table.clock_s
    if layout.zone == "stamp":
        return Clock(local - np.where(np.isnan(table.offset_s), 0.0, table.offset_s), layout, [])
    if is_place(layout.zone):
        zone, guessed = layout.zone, False
    fixed = 0.0 if layout.zone == "utc" else fixed_offset_s(layout.zone)
    if layout.zone == "standard":
        fixed = winter_offset_s(zone, float(np.nanmin(local)))
    if fixed is not None:
        return Clock(local - fixed, layout, [])
    known = ~np.isnan(local)
    change, offset = changes(zone, float(local[known].min()), float(local[known].max()))
    utc = local_to_utc(local[known], change, offset)
    if guessed and (why := _never_changes(local[known], utc)):
        winter = winter_offset_s(zone, float(local[known].min()))
        return Clock(local - winter, replace(layout, zone="standard"), [why])
    second = np.full(local.size, np.nan)
    second[known] = utc.second
    return Clock(second, layout, _notes(utc))


def _never_changes(local: Floats, utc: InUtc) -> str:
    """Why the logger's clock is taken to stay on winter time all year; empty where it is not."""
    if utc.skipped.any():
        day = _day(local[utc.skipped.argmax()])
        return (
            f"The file has times in the hour that the clocks of the site skipped on {day}: its clock is "
            "taken to stay on winter time all year."
        )
    rows = np.flatnonzero(utc.twice)
    if not rows.size or (np.diff(local[rows]) < 0).any():
        return ""
    step = typical_step(local)
    before, after = max(rows[0] - 1, 0), min(rows[-1] + 1, local.size - 1)
    around = np.diff(local[before : after + 1])
    if before < rows[0] and after > rows[-1] and (around <= SLACK * step).all():
        return (
            f"The hour that the clocks of the site showed twice on {_day(local[rows[0]])} is in the file "
            "once, without a break: its clock is taken to stay on winter time all year."
        )
    return ""


def _notes(utc: InUtc) -> list[str]:
    notes = []
    if utc.skipped.any():
        notes.append(
            f"{int(utc.skipped.sum()):,} rows lie in an hour that summer time skips: they are taken as "
            "winter time there."
        )
    if utc.twice.any():
        notes.append(
            f"{int(utc.twice.sum()):,} rows lie in an hour that the clocks show twice in autumn: they are "
            "its first showing until the file's times step back."
        )
    return notes


def _day(local_s: float) -> str:
    day = datetime.fromtimestamp(local_s, UTC)
    return f"{day.day} {day:%B %Y}"
