"""What a battery's volts show, as proposals for the care log in plain values."""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import numpy as np

from scheduler.loggers import Cleaned, Hours, read_stream
from scheduler.physics.battery.batteries import BATTERIES

USUAL_VOLTS = 12
HOUR_S = 3600.0
LITHIUM = "lithium"


@dataclass(frozen=True)
class Battery:
    """What must be known of a battery to read its volts; the commonest where the record is silent."""

    system_volts: float
    family: str


def battery_of(system_volts: int | None, chemistry: str) -> Battery:
    """The battery of a car, by its system's volts and the name of its chemistry."""
    lead = next((row.lead for row in BATTERIES if row.name == chemistry), True)
    return Battery(float(system_volts or USUAL_VOLTS), "lead" if lead else LITHIUM)


def proposals(cleaned: Cleaned, hours: Hours, battery: Battery) -> dict[str, Any]:
    """Readings, charges and falls, each with its moments as ISO text; how many rested days there were."""
    seen = read_stream(cleaned.second, cleaned.value[0], hours, battery.system_volts, battery.family)
    readings = [
        {
            "at": _iso(at),
            "volts": round(float(volts), 3),
            "rest_h": round(float(rest), 1),
            "temp_c": None if np.isnan(warm) else round(float(warm), 1),
        }
        for at, volts, warm, rest in zip(seen.at, seen.volts, seen.temp_c, seen.rest_h, strict=True)
    ]
    charges = [
        {
            "begin": _iso(begin),
            "end": _iso(end),
            "full": bool(full),
            "maintained": bool(maintained),
            "running": bool(running),
            "hours": round(float(end - begin) / HOUR_S, 1),
        }
        for begin, end, full, maintained, running in zip(
            seen.begin, seen.end, seen.full, seen.maintained, seen.running, strict=True
        )
    ]
    falls = [
        {"from": _iso(begin), "to": _iso(end), "volts": round(float(fall), 2)}
        for begin, end, fall in zip(seen.fall_from, seen.fall_to, seen.fall_v, strict=True)
    ]
    return {"readings": readings, "charges": charges, "falls": falls, "rested_days": seen.candidates}


def _iso(second: float) -> str:
    return datetime.fromtimestamp(float(second), UTC).isoformat(timespec="seconds")
