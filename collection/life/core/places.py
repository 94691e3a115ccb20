"""Bays and buildings as the places of the core: one a climate and a kind of shelter."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from collection.life.core.measured_air import Series, series_of, with_hours
from collection.models import Building, Climate, MeasuredClimate, Shelter
from scheduler.physics.climate import Place, from_normals

# A car may have stood for decades before it came; forecasts look a few years ahead.
YEARS_BACK, YEARS_AHEAD = 40, 6
# Where a car without a bay is taken to stand: the harsher of the usual shelters.
UNPLACED_SHELTER = "covered"
Normals = tuple[float, ...]  # January first
Months = tuple[Normals, Normals, Normals, Normals]  # mean, minimum, maximum, humidity


def months_of(climate: Climate) -> Months:
    """The climate's normals, January first; its months must have been fetched."""
    months = sorted(climate.months.all(), key=lambda month: month.month)
    if [month.month for month in months] != list(range(1, 13)):
        raise ValueError(f"climate {climate.name}: type all twelve months")
    return (
        tuple(month.mean_c for month in months),
        tuple(month.min_c for month in months),
        tuple(month.max_c for month in months),
        tuple(month.humidity_pct for month in months),
    )


def transposed(months: Sequence[Sequence[float]]) -> Months:
    """Twelve months of four figures as four figures of twelve months."""
    mean, least, most, humidity = (tuple(column) for column in zip(*months, strict=True))
    return mean, least, most, humidity


@dataclass(frozen=True)
class AirVersion:
    """All that makes one place's air differ from another's; ``inside``: its months are of the air inside."""

    months: Months
    name: str
    shelter: str
    heated_to_c: float | None
    humidity_ceiling_pct: float | None
    inside: bool
    series: Series | None


def version_of(climate: Climate, building: Building | None) -> AirVersion:
    """The air where a car stands, as its rows say; without a building, under an open-sided roof.

    What loggers measured there takes the place of what is reckoned: inside the building as it is,
    outside through the walls.
    """
    inside: MeasuredClimate | None = getattr(building, "measured", None) if building and building.pk else None
    outside: MeasuredClimate | None = getattr(climate, "measured", None)
    series = None
    if inside and building:
        climate, series = inside.climate, series_of(inside, building.site)
    elif outside and outside.site:
        series = series_of(outside, outside.site)
    return AirVersion(
        months_of(climate),
        climate.name,
        building.shelter if building else UNPLACED_SHELTER,
        building.heated_to_c if building else None,
        building.humidity_ceiling_pct if building else None,
        inside is not None,
        series,
    )


def place_for(climate: Climate, building: Building | None, today: date) -> Place:
    """The air where a car stands as its rows say, for the years around ``today``."""
    return place_of(version_of(climate, building), today)


def reckoned_place(climate: Climate, building: Building, today: date) -> Place:
    """The same as if no logger had stood in the building, and by normals alone."""
    warmth = building.heated_to_c, building.humidity_ceiling_pct
    version = AirVersion(months_of(climate), climate.name, building.shelter, *warmth, False, None)
    return place_of(version, today)


def place_of(version: AirVersion, today: date) -> Place:
    """A version of the air for the years around ``today``."""
    return _place(version, today.year)


@lru_cache(maxsize=256)
def _place(version: AirVersion, year: int) -> Place:
    first = date(year - YEARS_BACK, 1, 1).toordinal()
    days = date(year + YEARS_AHEAD, 1, 1).toordinal() - first
    heated, ceiling, series = version.heated_to_c, version.humidity_ceiling_pct, version.series
    nan = float("nan")
    place = from_normals(
        f"{version.name}, {Shelter(version.shelter).label.lower()}",
        version.shelter,
        *version.months,
        first,
        days,
        heated_to_c=nan if heated is None else heated,
        rh_ceiling_pct=nan if ceiling is None else ceiling,
        inside=version.inside,
    )
    return with_hours(place, series) if series else place
