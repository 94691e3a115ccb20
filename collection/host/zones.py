"""The zone of a file's clock: what its headings say, and when a site's own clock is put on and back."""

import re
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo, available_timezones

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

_SAID = re.compile(r"(?i)\b(?:utc|gmt|zone)\b\s*:?\s*(?:utc|gmt)?\s*(?:([+-])\s?(\d{1,2})(?::?(\d{2}))?)?")
FIXED = re.compile(r"([+-])(\d{2}):(\d{2})")
_PLACE = re.compile(r"\b[A-Z][A-Za-z]+/[A-Z][A-Za-z_]+(?:/[A-Z][A-Za-z_]+)?")
_A_DAY = timedelta(days=1)
FURTHEST_H = 14


def stated_zone(lines: Sequence[str]) -> str:
    """The zone that a heading or a line above the table names: "utc", "+01:00", a place's, or nothing."""
    for line in lines:
        if (place := _PLACE.search(line)) and is_place(place[0]):
            return place[0]
        match = _SAID.search(line)
        if match and match.group(1):
            hours, minutes = int(match.group(2)), int(match.group(3) or 0)
            if hours <= FURTHEST_H and minutes < 60:
                return "utc" if hours == minutes == 0 else f"{match.group(1)}{hours:02}:{minutes:02}"
        elif match and re.search(r"(?i)utc|gmt", match.group(0)):
            return "utc"
    return ""


def is_place(zone: str) -> bool:
    """Whether it is the clock of a place, with its own summer time."""
    return "/" in zone and zone in available_timezones()


def fixed_offset_s(zone: str) -> float | None:
    """The seconds of an offset such as +05:30; nothing for other names."""
    match = FIXED.fullmatch(zone)
    if not match:
        return None
    seconds = int(match.group(2)) * 3600.0 + int(match.group(3)) * 60.0
    return -seconds if match.group(1) == "-" else seconds


def changes(zone: str, first_s: float, last_s: float) -> tuple[Floats, Floats]:
    """When the zone's offset changes between two moments, in UTC seconds (c,), and the offsets (c + 1,)."""
    place = ZoneInfo(zone)
    day = datetime.fromtimestamp(first_s, UTC) - 2 * _A_DAY
    end = datetime.fromtimestamp(last_s, UTC) + 2 * _A_DAY
    moments: list[float] = []
    offsets = [_offset_s(day, place)]
    while day < end:
        if _offset_s(day + _A_DAY, place) != offsets[-1]:
            moments.append(_between(day, day + _A_DAY, place))
            offsets.append(_offset_s(day + _A_DAY, place))
        day += _A_DAY
    return np.array(moments), np.array(offsets)


def winter_offset_s(zone: str, at_s: float) -> float:
    """What the zone's clock is ahead of UTC outside summer time, in the year of a moment."""
    at = datetime.fromtimestamp(at_s, UTC)
    return min(_offset_s(at + timedelta(days=days), ZoneInfo(zone)) for days in range(0, 366, 7))


def _offset_s(moment: datetime, place: ZoneInfo) -> float:
    offset = moment.astimezone(place).utcoffset()
    return offset.total_seconds() if offset else 0.0


def _between(low: datetime, high: datetime, place: ZoneInfo) -> float:
    old = _offset_s(low, place)
    while high - low > timedelta(seconds=1):
        middle = low + (high - low) / 2
        low, high = (middle, high) if _offset_s(middle, place) == old else (low, middle)
    return float(round(high.timestamp()))
