"""Bays and buildings as the places of the core: one a climate and a kind of shelter."""

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


def place_for(climate: Climate, building: Building | None, today: date) -> Place:
    """The air where a car stands; without a building, under an open-sided roof.

    What loggers measured there takes the place of what is reckoned: inside the building as it is,
    outside through the walls.
    """
    shelter = building.shelter if building else UNPLACED_SHELTER
    heated = building.heated_to_c if building else None
    ceiling = building.humidity_ceiling_pct if building else None
    inside: MeasuredClimate | None = getattr(building, "measured", None) if building and building.pk else None
    outside: MeasuredClimate | None = getattr(climate, "measured", None)
    series = None
    if inside and building:
        climate, series = inside.climate, series_of(inside, building.site)
    elif outside and outside.site:
        series = series_of(outside, outside.site)
    return _place(
        months_of(climate), climate.name, shelter, heated, ceiling, today.year, series, inside is not None
    )


def reckoned_place(climate: Climate, building: Building, today: date) -> Place:
    """The same as if no logger had stood in the building, and by normals alone."""
    return _place(
        months_of(climate),
        climate.name,
        building.shelter,
        building.heated_to_c,
        building.humidity_ceiling_pct,
        today.year,
        None,
        False,
    )


@lru_cache(maxsize=256)
def _place(  # noqa: PLR0913  # all that makes one place's air differ from another's
    months: Months,
    name: str,
    shelter: str,
    heated: float | None,
    ceiling: float | None,
    year: int,
    series: Series | None,
    inside: bool,
) -> Place:
    first = date(year - YEARS_BACK, 1, 1).toordinal()
    days = date(year + YEARS_AHEAD, 1, 1).toordinal() - first
    nan = float("nan")
    place = from_normals(
        f"{name}, {Shelter(shelter).label.lower()}",
        shelter,
        *months,
        first,
        days,
        heated_to_c=nan if heated is None else heated,
        rh_ceiling_pct=nan if ceiling is None else ceiling,
        inside=inside,
    )
    return with_hours(place, series, outdoors=not inside) if series else place
