"""What loggers measured at a place, in the place of what was assumed: past hours, and monthly normals.

A ``MeasuredClimate`` is made anew from all accepted files of its place whenever one comes or goes; nobody
edits it. Hours are kept in memory by its ``series``, the digest over those files.
"""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from collection.host.zones import winter_offset_s
from collection.life.core.kept_hours import hours_of_files
from collection.models import LoggerFile, LoggerState, MeasuredClimate, Site
from scheduler.loggers import Hours, Monthly, monthly_of, monthly_of_place
from scheduler.physics.climate import Place, observed

EPOCH_DAY = date(1970, 1, 1).toordinal()
HOUR_S, DAY_S = 3600.0, 86400.0


@dataclass(frozen=True)
class Series:
    """The hours measured at a site (outside) or in a building, by the digest over their files.

    ``accepted_by``: of the files accepted by a day alone, which the digest stands for; None for all.
    """

    measured: int
    digest: str
    zone: str
    outdoors: bool
    accepted_by: date | None = field(default=None, compare=False)


def series_of(
    measured: MeasuredClimate, site: Site, *, digest: str = "", accepted_by: date | None = None
) -> Series:
    """The key under which the hours of a measured climate are kept in memory; as they were by a day."""
    outdoors = measured.site_id is not None
    if digest in ("", measured.series):
        return Series(measured.pk, measured.series, site.time_zone, outdoors)
    return Series(measured.pk, digest, site.time_zone, outdoors, accepted_by)


def digest_of(files: Iterable[LoggerFile]) -> str:
    """A digest over files and the way they were read: another one, other hours."""
    parts = (f"{file.pk} {file.digest} {file.accepted_at} {sorted(file.layout.items())}" for file in files)
    return hashlib.sha256("|".join(parts).encode()).hexdigest()


def accepted_files(measured: MeasuredClimate) -> list[LoggerFile]:
    """The files of a measured climate, the first accepted first, with their days."""
    where = {"site": measured.site_id} if measured.site_id else {"building": measured.building_id}
    files = LoggerFile.objects.filter(**where, state=LoggerState.ACCEPTED)
    return list(files.order_by("accepted_at", "pk").prefetch_related("days"))


def with_hours(place: Place, series: Series) -> Place:
    """The place with its measured hours in place of the normals, on the days that they cover."""
    hours = _hours(series)
    if hours is None:
        return place
    known = ~np.isnan(hours.mean[0])
    day = _local_s(hours, series.zone)[known] / DAY_S + EPOCH_DAY
    return observed(place, day, hours.mean[0][known], hours.mean[1][known], series.outdoors)


@lru_cache(maxsize=64)
def _hours(series: Series) -> Hours | None:
    measured = MeasuredClimate.objects.filter(pk=series.measured).first()
    if measured is None:
        return None
    files, by, zone = accepted_files(measured), series.accepted_by, ZoneInfo(series.zone)
    return hours_of_files(
        file
        for file in files
        if not (by and file.accepted_at and file.accepted_at.astimezone(zone).date() > by)
    )


def _local_s(hours: Hours, zone: str) -> np.ndarray:
    """The hours by the place's winter time: the air keeps no summer time, and no hour comes twice."""
    return hours.hour * HOUR_S + winter_offset_s(zone, float(hours.hour[-1] * HOUR_S))


def normals_of(hours: Hours, zone: str, base: np.ndarray) -> Monthly:
    """Twelve normals from the hours measured; ``base`` (4, 12) for what they do not cover."""
    known = ~np.isnan(hours.mean[0])
    return monthly_of(
        _local_s(hours, zone)[known],
        hours.mean[0][known],
        hours.least[0][known],
        hours.most[0][known],
        hours.mean[1][known],
        base,
    )


def reckoned_inside(place: Place, today: date) -> np.ndarray:
    """The normals (4, 12) of the air that a building is reckoned to have, over last year."""
    first, end = (date(year, 1, 1).toordinal() for year in (today.year - 1, today.year))
    return monthly_of_place(place, first, end)


def coverage(monthly: Monthly, hours: Hours) -> dict[str, Any]:
    """How well the months are covered, in plain values."""
    return {
        "years": monthly.years.tolist(),
        "days": monthly.days.tolist(),
        "shift_c": round(float(monthly.shift[0]), 2),
        "spread_c": None if np.isnan(monthly.spread[0]) else round(float(monthly.spread[0]), 2),
        "hours": int(hours.hour.size),
        "first": date.fromordinal(int(hours.hour[0] // 24) + EPOCH_DAY).isoformat(),
        "last": date.fromordinal(int(hours.hour[-1] // 24) + EPOCH_DAY).isoformat(),
        "humidity": bool((~np.isnan(hours.mean[1])).any()),
    }
