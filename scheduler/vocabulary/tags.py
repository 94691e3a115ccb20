"""Warning tags that staff put on a car; the core knows them by their place in the list."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Tag:
    """``stops_moving``: while it is on, the car is not rolled either."""

    code: str
    title: str
    stops_moving: bool = False


@dataclass(frozen=True, kw_only=True)
class TaggedPart:
    """Which part of the car a drained fluid or a part taken out belongs to."""

    code: str
    title: str


TAGS = (
    Tag(code="drained", title="Fluid drained"),
    Tag(code="drain_open", title="Drain or plug open"),
    Tag(code="part_out", title="Part taken out", stops_moving=True),
    Tag(code="intake_blocked", title="Intake or exhaust blocked"),
    Tag(code="engine_preserved", title="Engine preserved: do not crank"),
    Tag(code="danger", title="Danger: do not use", stops_moving=True),
)
TAG = {row.code: row for row in TAGS}

# It decides which permission a tag takes away.
TAGGED_PARTS = (
    TaggedPart(code="battery", title="Battery"),
    TaggedPart(code="engine", title="Engine"),
    TaggedPart(code="fuel", title="Fuel side"),
    TaggedPart(code="brakes", title="Brakes"),
    TaggedPart(code="wheels", title="Wheels"),
    TaggedPart(code="drive", title="Clutch, gearbox, axle, steering"),
    TaggedPart(code="body", title="Lamps, glass, body"),
    TaggedPart(code="cooling", title="Cooling"),
)
