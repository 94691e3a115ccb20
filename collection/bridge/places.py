"""Bays and buildings as the places of the core: one a climate and a kind of shelter."""

from datetime import date
from functools import lru_cache

from collection.models import Building, Climate, Shelter
from scheduler.climate import Place, from_normals

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
    """The air where a car stands; without a building, under an open-sided roof."""
    shelter = building.shelter if building else UNPLACED_SHELTER
    heated = building.heated_to_c if building else None
    ceiling = building.humidity_ceiling_pct if building else None
    return _place(months_of(climate), climate.name, shelter, heated, ceiling, today.year)


@lru_cache(maxsize=256)
def _place(
    months: Months, name: str, shelter: str, heated: float | None, ceiling: float | None, year: int
) -> Place:
    first = date(year - YEARS_BACK, 1, 1).toordinal()
    days = date(year + YEARS_AHEAD, 1, 1).toordinal() - first
    nan = float("nan")
    return from_normals(
        f"{name}, {Shelter(shelter).label.lower()}", shelter, *months, first, days,
        heated_to_c=nan if heated is None else heated,
        rh_ceiling_pct=nan if ceiling is None else ceiling,
    )  # fmt: skip
