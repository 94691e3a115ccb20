"""A site's floor plan as shapes: every bay where it lies, its car with its state, who stands in whose way."""

import textwrap
from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import hypot

from collection.drawing.floor import Rect, lay_out
from collection.due.queries.floor_plan import FloorPlan, House, Place, Standing
from collection.places.floor import spots_of
from collection.web.templatetags.longstand import STATES
from scheduler.vocabulary.tags import TAG

A_METRE = 38  # units of the drawing
MARGIN, HEADING = 22, 34  # around a building; above it, for its name
BETWEEN = 34  # two buildings
WIDEST = 1300  # buildings stand beside each other up to here: a desk's screen, and a sheet of paper
A_LETTER, A_LINE = 8.6, 19  # of the names
INSET = 8  # of a car in its bay
HEAD = 26  # of a bay, for its label
AN_ARROW = 15  # half of it, over the border of two bays
PIXELS = 0.86  # of a unit, where the drawing has room


@dataclass(frozen=True)
class Line:
    """A line of text, how far down it stands, and the width into which it is squeezed if it is long."""

    y: float
    text: str
    squeezed: float | None


@dataclass(frozen=True, kw_only=True)
class Shape:
    """One bay: its corner and size, its car as lines of text; ``turn`` numbers a move."""

    place: Place
    x: float
    y: float
    width: float
    height: float
    lines: list[Line]
    turn: int | None = None

    @property
    def standing(self) -> Standing | None:
        """Who stands in it."""
        return self.place.standing

    @property
    def middle(self) -> float:
        """Half its width."""
        return self.width / 2

    @property
    def car_width(self) -> float:
        """Of the car in it."""
        return self.width - 2 * INSET

    @property
    def car_height(self) -> float:
        """Of the car in it."""
        return self.height - HEAD - INSET

    @property
    def word(self) -> str:
        """The state in a word that fits."""
        return STATES[self.standing.state][0].partition(":")[0] if self.standing else "free"

    @property
    def sign(self) -> str:
        """The state's shape."""
        return STATES[self.standing.state][1] if self.standing else ""


@dataclass(frozen=True)
class Arrow:
    """From a bay to the one in its way: the shaft's two ends and the three corners of its head."""

    shaft: str
    head: str


@dataclass(frozen=True, kw_only=True)
class Hall:
    """A building or yard: its outline and what stands in it."""

    house: House
    x: float
    y: float
    width: float
    height: float
    shapes: list[Shape]
    arrows: list[Arrow]

    @property
    def door(self) -> str:
        """The gap in the wall below."""
        wide = min(110.0, self.width / 3)
        return f"M{(self.width - wide) / 2:.0f} {self.height:.0f}h{wide:.0f}"


@dataclass(frozen=True)
class Drawing:
    """The whole site."""

    halls: list[Hall]
    width: float
    height: float

    @property
    def pixels(self) -> tuple[int, int]:
        """Its size on a screen with room for it."""
        return round(self.width * PIXELS), round(self.height * PIXELS)


def draw(plan: FloorPlan, turns: Mapping[int, int]) -> Drawing:
    """Buildings in walking order, beside each other while there is room; ``turns`` numbers bays that move."""
    halls: list[Hall] = []
    x = y = deep = 0.0
    for house in plan.houses:
        hall = hall_of(house, turns)
        if x and x + hall.width > WIDEST:
            x, y, deep = 0.0, y + deep + BETWEEN, 0.0
        halls.append(replace(hall, x=x, y=y + HEADING))
        x, deep = x + hall.width + BETWEEN, max(deep, hall.height + HEADING)
    width = max((hall.x + hall.width for hall in halls), default=0)
    return Drawing(halls, width + 2, y + deep + 18)


def hall_of(house: House, turns: Mapping[int, int]) -> Hall:
    """One building by itself, its corner at nought."""
    places = [place for row in house.rows for place in row.places]
    laid = lay_out(spots_of((place.bay, place.fronts) for place in places))
    wide, deep = max(rect.right for rect in laid.values()), max(rect.far for rect in laid.values())
    width, height = wide * A_METRE + 2 * MARGIN, deep * A_METRE + 2 * MARGIN
    shapes = [_shape(place, laid[place.bay.pk], deep, turns) for place in places]
    known = {shape.place.bay.pk: shape for shape in shapes}
    arrows = [
        _arrow(shape, known[front])
        for shape in shapes
        for front in shape.place.fronts
        if front in known and shape.standing and known[front].standing
    ]
    return Hall(house=house, x=0, y=0, width=width, height=height, shapes=shapes, arrows=arrows)


def _shape(place: Place, rect: Rect, deep: float, turns: Mapping[int, int]) -> Shape:
    width, height = rect.width * A_METRE, rect.depth * A_METRE
    return Shape(
        place=place,
        x=round(MARGIN + rect.left * A_METRE, 1),
        y=round(MARGIN + (deep - rect.far) * A_METRE, 1),
        width=round(width, 1),
        height=round(height, 1),
        lines=_name(place.standing, width, height) if place.standing else [],
        turn=turns.get(place.bay.pk),
    )


def _name(standing: Standing, width: float, height: float) -> list[Line]:
    """The name and tags of a car in the lines that its bay has room for."""
    top, room = HEAD + INSET + 56, width - 2 * INSET - 6
    letters = max(int(room / A_LETTER), 4)
    most = max(int((height - top - INSET) / A_LINE) + 1, 1)
    tags = [f"▲ {TAG[tag.details['tag']].title}" for tag in standing.tags[:1]]
    names = textwrap.wrap(
        str(standing.vehicle),
        letters,
        max_lines=max(most - len(tags), 1),
        placeholder="…",
        break_long_words=False,
    )
    lines = [*names, *(textwrap.shorten(tag, letters + 2, placeholder="…") for tag in tags)]
    return [
        Line(top + at * A_LINE, line, room if len(line) > letters else None)
        for at, line in enumerate(lines[:most])
    ]


def _arrow(behind: Shape, front: Shape) -> Arrow:
    """Over the border between the two, from the middle of the one towards the middle of the other."""
    ax, ay = behind.x + behind.middle, behind.y + behind.height / 2
    bx, by = front.x + front.middle, front.y + front.height / 2
    length = hypot(bx - ax, by - ay) or 1.0
    ux, uy = (bx - ax) / length, (by - ay) / length
    share = _leaves(behind, ux, uy)
    end = length - _leaves(front, ux, uy)
    at = (share + end) / 2
    x1, y1 = ax + ux * (at - AN_ARROW), ay + uy * (at - AN_ARROW)
    x2, y2 = ax + ux * (at + AN_ARROW), ay + uy * (at + AN_ARROW)
    hx, hy = x2 - ux * 10, y2 - uy * 10
    corners = ((x2, y2), (hx - uy * 7, hy + ux * 7), (hx + uy * 7, hy - ux * 7))
    head = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in corners) + "Z"
    return Arrow(f"M{x1:.1f} {y1:.1f}L{hx:.1f} {hy:.1f}", head)


def _leaves(shape: Shape, ux: float, uy: float) -> float:
    """How far from its middle a line in this direction crosses a bay's border."""
    ways = [half / abs(u) for half, u in ((shape.middle, ux), (shape.height / 2, uy)) if abs(u) > 1e-9]
    return min(ways)
