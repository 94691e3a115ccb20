"""Where bays lie on a floor, in metres from the left wall and from the wall with the door.

What is not measured is laid out by its name: rows one behind another from the door, the places of a row side
by side, or one behind another where each is blocked by the next. That is a picture, not a measure.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

BAY_WIDTH_M, BAY_DEPTH_M = 2.8, 5.2  # policy: room for a car and an open door, until somebody measures
AISLE_M = 2.4  # policy: drawn between rows of which neither blocks the other
GAP_M = 0.4  # drawn between rows that stand close


@dataclass(frozen=True)
class Rect:
    """A bay seen from above."""

    left: float
    from_door: float
    width: float
    depth: float

    @property
    def right(self) -> float:
        """Where it ends to the right."""
        return self.left + self.width

    @property
    def far(self) -> float:
        """Where it ends away from the door."""
        return self.from_door + self.depth

    def overlaps(self, other: "Rect", by: float = 0.01) -> bool:
        """Whether the two lie over each other by more than a hair."""
        across = min(self.right, other.right) - max(self.left, other.left)
        along = min(self.far, other.far) - max(self.from_door, other.from_door)
        return across > by and along > by


@dataclass(frozen=True)
class Spot:
    """A bay: its row and place, the bays that must be empty before it, and where it lies if that is known."""

    key: int
    row: str
    place: int
    fronts: Sequence[int] = ()
    rect: Rect | None = None


@dataclass
class _Row:
    """The bays of a row that are not measured, in the order of their places."""

    name: str
    spots: list[Spot] = field(default_factory=list)
    rank: int = 0  # how many rows stand between it and the door

    @property
    def is_lane(self) -> bool:
        """Whether its places stand one behind another: most of them are blocked by one of the same row."""
        own = {spot.key for spot in self.spots}
        blocked = sum(1 for spot in self.spots if own & set(spot.fronts))
        return len(self.spots) > 1 and blocked * 2 >= len(self.spots)


def lay_out(spots: Iterable[Spot]) -> dict[int, Rect]:
    """Where each bay lies: as measured, the others behind them by row and place."""
    spots = list(spots)
    laid = {spot.key: spot.rect for spot in spots if spot.rect}
    begin = max((rect.far for rect in laid.values()), default=-AISLE_M) + AISLE_M
    rows = _rows([spot for spot in spots if not spot.rect])
    lanes = [row for row in rows if row.is_lane]
    for at, lane in enumerate(lanes):
        laid |= _lane(lane, at * (BAY_WIDTH_M + GAP_M), begin)
    begin = max((rect.far + AISLE_M for rect in laid.values()), default=begin) if lanes else begin
    before = None
    for row in (row for row in rows if not row.is_lane):
        if before is not None:
            begin += BAY_DEPTH_M + (GAP_M if row.rank > before else AISLE_M)
        laid |= _across(row, begin)
        before = row.rank
    return laid


def _rows(spots: Sequence[Spot]) -> list[_Row]:
    """Rows from the door inwards: what blocks stands before what is blocked; B before AA."""
    made: dict[str, _Row] = {}
    for spot in spots:
        made.setdefault(spot.row, _Row(spot.row)).spots.append(spot)
    fronts = {spot.key: spot.fronts for spot in spots}
    row_of = {spot.key: spot.row for spot in spots}
    for row in made.values():
        row.spots.sort(key=lambda spot: spot.place)
        row.rank = max(len(_rows_before(spot.key, fronts, row_of)) for spot in row.spots)
    return sorted(made.values(), key=lambda row: (row.rank, len(row.name), row.name))


def _rows_before(key: int, fronts: Mapping[int, Sequence[int]], row_of: Mapping[int, str]) -> set[str]:
    """The other rows through which a bay is left."""
    return {row_of[one] for one in in_front([key], fronts) if one in row_of} - {row_of[key]}


def _lane(row: _Row, left: float, begin: float) -> dict[int, Rect]:
    fronts = {spot.key: spot.fronts for spot in row.spots}
    order = sorted(row.spots, key=lambda spot: (len(in_front([spot.key], fronts)), spot.place))
    return {
        spot.key: Rect(left, begin + at * (BAY_DEPTH_M + GAP_M), BAY_WIDTH_M, BAY_DEPTH_M)
        for at, spot in enumerate(order)
    }


def _across(row: _Row, begin: float) -> dict[int, Rect]:
    """Places side by side; numbers that are left out leave their room, but for wide gaps."""
    places = [spot.place for spot in row.spots]
    first, last = places[0], places[-1]
    close = last - first < 2 * len(places)
    return {
        spot.key: Rect((spot.place - first if close else at) * BAY_WIDTH_M, begin, BAY_WIDTH_M, BAY_DEPTH_M)
        for at, spot in enumerate(row.spots)
    }


def in_front(keys: Iterable[int], fronts: Mapping[int, Sequence[int]]) -> list[int]:
    """Every bay on the way out of these, the nearest to the door first, through empty bays as well."""
    ahead: dict[int, None] = {}

    def reach(key: int, path: frozenset[int]) -> None:
        for front in fronts.get(key, ()):
            if front not in path and front not in ahead:
                reach(front, path | {key})
                ahead[front] = None

    for key in keys:
        reach(key, frozenset())
    return list(ahead)
