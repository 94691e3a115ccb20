"""A file's bytes → what it says: its layout, its faults and gaps, its hours, and what its volts show.

A file is understood here and nowhere else. What it says of itself may be overruled by its figures (summer
time, order of day and month); every such choice is told on the page.
"""

from collections.abc import Callable, Mapping
from dataclasses import asdict
from datetime import UTC, datetime
from typing import Any

import numpy as np

from collection.loggers.core.clocks import in_utc
from collection.loggers.core.faults import faults_of
from collection.loggers.core.stream import Battery, proposals
from collection.loggers.core.understood import Understood
from collection.loggers.reading.faults import UnreadableFile
from collection.loggers.reading.layout import NONE, Layout
from collection.loggers.reading.lines import MOST_BYTES, text_of
from collection.loggers.reading.long_form import LAID_OUT, laid_out
from collection.loggers.reading.read import Floats, Table, columns_of, guess, read
from scheduler.loggers import Cleaned, clean, gaps_of, hours_of, typical_step
from scheduler.physics.climate import saturation_pressure_hpa

MOST_GAPS = 300  # the longest; a page shows no more
LEAST_GAP_S = 1800.0  # policy: what is missing for less changes no hour by much
SATURATED_PCT = 105.0  # policy: a sensor in fog shows a little above 100 %
AIR_C, WORKSHOP_C = (-60.0, 60.0), (-60.0, 80.0)
MOST_VOLTS = 1.5  # times the system's, as for a reading by hand


Tell = Callable[[str], None]


def understand(  # a file, and all that it takes to read it; keywords only
    data: bytes, *, layout: Layout | None, zone: str, battery: Battery | None, now: datetime, tell: Tell
) -> Understood:
    """Read a file, by its own layout if none is given; UnreadableFile says in words why not.

    ``battery``: the file is of volts, and of this battery; else it is of air.
    """
    if len(data) > MOST_BYTES:
        raise UnreadableFile(f"The file is larger than {MOST_BYTES // 1_000_000} MB: send it in parts.")
    tell("Finding out how the file is written")
    text, is_laid_out = laid_out(text_of(data))
    guessed = guess(text, of_battery=battery is not None) if layout is None else None
    chosen = guessed.layout if guessed else layout
    assert chosen is not None  # noqa: S101  # one of the two is there
    columns = guessed.columns if guessed else columns_of(text, chosen)
    table = read(text, chosen, now=now, tell=tell)
    clock = in_utc(table, chosen, zone, guessed=guessed is not None)
    notes = [LAID_OUT] * is_laid_out + (guessed.grounds if guessed else []) + clock.notes
    tell("Cleaning and thinning")
    second, reverse = clock.second, _newest_first(clock.second)
    if reverse:
        notes.append("The newest rows come first: the file is read from its end.")
    value, limits = _columns(table, chosen, battery, notes)
    if reverse:
        second, value = second[::-1], value[:, ::-1]
    low, high = np.array(list(limits.values())).T
    cleaned = clean(second, value, low, high, chosen.duplicates)
    if not cleaned.second.size:
        raise UnreadableFile(
            "No row holds a date, a time and a figure that can be true: choose other columns."
        )
    if "humidity" in limits:
        cleaned.value[1] = np.minimum(cleaned.value[1], 100.0)
    hours = hours_of(cleaned.second, cleaned.value)
    facts = _facts(table, cleaned, limits, chosen, reverse=reverse)
    facts |= {"notes": notes, "columns": [asdict(column) for column in columns]}
    if battery:
        facts["proposals"] = proposals(cleaned, hours, battery)
    return Understood(clock.layout, facts, hours)


def _newest_first(second: Floats) -> bool:
    step = np.diff(second[~np.isnan(second)])
    return bool(step.size and np.median(step) < 0)


def _columns(
    table: Table, layout: Layout, battery: Battery | None, notes: list[str]
) -> tuple[Floats, dict[str, tuple[float, float]]]:
    """Two columns (2, m) as they are kept, with the limits of what was measured."""
    none = np.full(table.rows, np.nan)
    warm = table.value.get("temperature", none)
    if battery:
        limits = {"volts": (0.0, MOST_VOLTS * battery.system_volts), "temperature": WORKSHOP_C}
        return np.array([table.value["volts"], warm]), limits
    damp = table.value.get("humidity", none)
    if layout.humidity == NONE and layout.dew_point != NONE:
        damp = 100.0 * saturation_pressure_hpa(table.value["dew_point"]) / saturation_pressure_hpa(warm)
        notes.append("Humidity is reckoned from temperature and dew point.")
    return np.array([warm, damp]), {"temperature": AIR_C, "humidity": (0.0, SATURATED_PCT)}


def _facts(
    table: Table,
    cleaned: Cleaned,
    limits: Mapping[str, tuple[float, float]],
    layout: Layout,
    *,
    reverse: bool,
) -> dict[str, Any]:
    second, step = cleaned.second, typical_step(cleaned.second)
    gaps = gaps_of(second, LEAST_GAP_S)
    longest = gaps[np.argsort(gaps[:, 0] - gaps[:, 1], kind="stable")[:MOST_GAPS]]
    return {
        "rows": table.rows,
        "kept": int(second.size),
        "first": _iso(second[0]),
        "last": _iso(second[-1]),
        "step_s": None if np.isnan(step) else step,
        "humidity": bool((~np.isnan(cleaned.value[1])).any()),
        "faults": faults_of(table, cleaned, dict(limits), layout.duplicates, reverse=reverse),
        "stuck": [[_iso(a), _iso(b)] for a, b in cleaned.stuck[:MOST_GAPS]],
        "gap_count": len(gaps),
        "gap_s": float((gaps[:, 1] - gaps[:, 0]).sum()),
        "gaps": [[_iso(a), _iso(b)] for a, b in longest[np.argsort(longest[:, 0])]],
    }


def _iso(second: float) -> str:
    return datetime.fromtimestamp(float(second), UTC).isoformat(timespec="seconds")
