"""The air of the places that cars name, from their climates; an assumed one where none is given."""

from datetime import date
from functools import lru_cache

import numpy as np

from scheduler.command.cars import Climate, StandingPlace
from scheduler.command.record import FOR_EVER, Record
from scheduler.life.stays import air_of
from scheduler.physics.climate import Place, from_normals

# A car may have stood for decades; forecasts look a few years ahead.
YEARS_BACK, YEARS_AHEAD = 40, 8
# policy: where no climate is given, the usual months of a damp temperate lowland with frost in winter
ASSUMED_CLIMATE = Climate(
    mean_c=[1.0, 2.0, 5.0, 9.0, 14.0, 17.0, 19.0, 18.0, 14.0, 10.0, 5.0, 2.0],
    low_c=[-2.0, -2.0, 1.0, 4.0, 8.0, 11.0, 13.0, 13.0, 10.0, 6.0, 2.0, -1.0],
    high_c=[4.0, 6.0, 10.0, 15.0, 20.0, 23.0, 25.0, 24.0, 19.0, 14.0, 8.0, 5.0],
    rh_pct=[86.0, 82.0, 76.0, 70.0, 69.0, 70.0, 71.0, 73.0, 78.0, 83.0, 87.0, 88.0],
)
# policy: where no place is named, the harsher of the usual roofs
ASSUMED_PLACE = StandingPlace(shelter="covered")
NO_PLACE = "Where it stands is not said: taken as under an open-sided roof."
NO_CLIMATE = "No climate is given: taken as a damp temperate lowland with frost in winter."


def air_around(record: Record, year: int) -> Place:
    """The air around a car through all the places where it stood, some decades back from a year."""
    stays = record.stays or [(FOR_EVER, "")]
    return air_of([(since, _place(name, _standing(record, name), year)) for since, name in stays])


def _standing(record: Record, name: str | None) -> StandingPlace:
    return record.car.places[name] if name else ASSUMED_PLACE


def standing_place(record: Record) -> StandingPlace:
    """Where a car stands now."""
    return _standing(record, record.place)


def assumed_air(record: Record) -> list[str]:
    """What had to be assumed of where a car stands, in words."""
    assumed = [] if record.place else [NO_PLACE]
    return assumed if standing_place(record).climate else [*assumed, NO_CLIMATE]


def _place(name: str, place: StandingPlace, year: int) -> Place:
    climate = place.climate or ASSUMED_CLIMATE
    months = (climate.mean_c, climate.low_c, climate.high_c, climate.rh_pct)
    return _made(
        name or "its place",
        place.shelter,
        tuple(tuple(column) for column in months),
        place.heated_to_c,
        place.rh_ceiling_pct,
        year,
    )


@lru_cache(maxsize=256)  # cars of one place breathe the same air, and a place is itself
def _made(
    name: str,
    shelter: str,
    months: tuple[tuple[float, ...], ...],
    heated_to_c: float | None,
    rh_ceiling_pct: float | None,
    year: int,
) -> Place:
    first, end = (date(y, 1, 1).toordinal() for y in (year - YEARS_BACK, year + YEARS_AHEAD))
    mean, low, high, rh = months
    return from_normals(
        name,
        shelter,
        mean,
        low,
        high,
        rh,
        first,
        end - first,
        heated_to_c=np.nan if heated_to_c is None else heated_to_c,
        rh_ceiling_pct=np.nan if rh_ceiling_pct is None else rh_ceiling_pct,
    )
