"""Warning tags that staff put on a car; the core knows them by their place in the list."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Tag:
    """``holds_run``: why the engine is not run meanwhile. ``stops_moving``: the car is not rolled either.

    ``means``: the kind of tag of a car that stood too long, which takes a permission away; where that
    hangs on the part that the tag names, ``by_part`` says whether it is drained or out.
    """

    code: str
    title: str
    holds_run: str
    stops_moving: bool = False
    means: str = "danger"
    by_part: str = ""


@dataclass(frozen=True, kw_only=True)
class TaggedPart:
    """Which part of the car a drained fluid or a part taken out belongs to, and what that means."""

    code: str
    title: str
    out: str
    drained: str = "oil_drained"  # the strictest


TAGS = (
    Tag(
        code="drained",
        title="Fluid drained",
        holds_run="a fluid is drained: refill it and clear the tag first",
        by_part="drained",
    ),
    Tag(
        code="drain_open",
        title="Drain or plug open",
        holds_run="a drain is open: close it and clear the tag first",
        means="drain_open",
    ),
    Tag(
        code="part_out",
        title="Part taken out",
        holds_run="a part is out: refit it and clear the tag first",
        stops_moving=True,
        by_part="out",
    ),
    Tag(
        code="intake_blocked",
        title="Intake or exhaust blocked",
        holds_run="intake or exhaust is blocked: open it and clear the tag first",
        means="intake_blocked",
    ),
    Tag(
        code="engine_preserved",
        title="Engine preserved: do not crank",
        holds_run="the engine is preserved: do not crank",
        means="engine_preserved",
    ),
    Tag(
        code="danger",
        title="Danger: do not use",
        holds_run="a danger tag is open: clear what it warns of first",
        stops_moving=True,
    ),
)
TAG = {row.code: row for row in TAGS}

TAGGED_PARTS = (
    TaggedPart(code="battery", title="Battery", out="battery_out"),
    TaggedPart(code="engine", title="Engine", out="engine_part_out"),
    TaggedPart(code="fuel", title="Fuel side", out="fuel_part_out", drained="fuel_part_out"),
    TaggedPart(code="brakes", title="Brakes", out="brake_part_out", drained="brake_part_out"),
    TaggedPart(code="wheels", title="Wheels", out="wheel_off"),
    TaggedPart(
        code="drive",
        title="Clutch, gearbox, axle, steering",
        out="drive_part_out",
        drained="gear_oil_drained",
    ),
    TaggedPart(code="body", title="Lamps, glass, body", out="body_part_out"),
    TaggedPart(code="cooling", title="Cooling", out="coolant_drained", drained="coolant_drained"),
)
TAGGED_PART = {row.code: row for row in TAGGED_PARTS}
