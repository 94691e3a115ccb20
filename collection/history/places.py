"""Where the car stood, and what the air was there in a usual year."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from collection.history.core.air import air_in
from collection.history.grades import INFERENCE, STATEMENT
from collection.history.queries.history import Stay, stays
from collection.history.scope import Scope
from collection.models import Entry, Vehicle
from collection.web.units import Edge


@dataclass(frozen=True)
class StayLine:
    """A time in one place; ``under`` is its shelter, with the site where places are told."""

    since: date | None
    until: date | None
    place: str
    under: str
    air: str
    grade: int
    air_grade: int = INFERENCE


def stay_lines(
    vehicle: Vehicle, entries: Sequence[Entry], scope: Scope, reader: Edge, today: date
) -> list[StayLine]:
    """The stays that touch the period, oldest first, cut to it."""
    kept = [stay for stay in stays(vehicle, entries) if _touches(stay, scope)]
    return [_line(number, stay, scope, reader, today) for number, stay in enumerate(kept, 1)]


def _touches(stay: Stay, scope: Scope) -> bool:
    begins_in_time = scope.last is None or stay.since is None or stay.since <= scope.last
    ends_in_time = scope.first is None or stay.until is None or stay.until >= scope.first
    return begins_in_time and ends_in_time


def _line(number: int, stay: Stay, scope: Scope, reader: Edge, today: date) -> StayLine:
    since, until = stay.since, stay.until
    if scope.first and (since is None or since < scope.first):
        since = scope.first
    if scope.last and (until is None or until > scope.last):
        until = scope.last
    building = stay.building
    shelter = building.get_shelter_display() if building else ""
    under = f"{shelter}, {building.site}" if building and scope.place else shelter
    return StayLine(
        since,
        until,
        stay.place if scope.place else f"place {number}",
        under,
        _air(stay, reader, today),
        STATEMENT,
    )


def _air(stay: Stay, reader: Edge, today: date) -> str:
    """The air of a stay in words."""
    if stay.building is None:
        return ""
    air, unit = air_in(stay.building, today=today), reader.unit("°C")
    return (
        f"coldest quarter about {unit.format(air.winter_c, '.0f')} at {air.winter_rh_pct:.0f} % humidity, "
        f"warmest {unit.format(air.summer_c, '.0f')} at {air.summer_rh_pct:.0f} %"
    )
