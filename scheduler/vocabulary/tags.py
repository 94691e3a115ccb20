"""Warning tags that staff put on a car; the core knows them by their place in the list."""

from dataclasses import dataclass
from typing import NamedTuple

# What a tag takes away. Fluids drained: MIL-HDBK-1130 para 2.2.3. Drains open and parts out: US Army
# TM 9-2330-235-14&P para 4-68 and 4-70. A preserved engine: US Army preservation bulletin of the
# TB 740-97-4 series. The rest is workshop practice.


@dataclass(frozen=True, kw_only=True)
class Tag:
    """``holds_run``: why the engine is not run meanwhile. ``stops_moving``: the car is not rolled either.

    It takes every permission away from a car that stood too long, but where that hangs on the part that
    the tag names: ``by_part`` says whether it is drained or out. ``acts_from``: the least of the acts of
    recommissioning that it forbids, as in ``Missing``.
    """

    code: str
    title: str
    holds_run: str
    stops_moving: bool = False
    by_part: str = ""
    acts_from: str = ""


class Missing(NamedTuple):
    """What is missing at a car, and the first permission that it takes away: crank, run, move or road.

    ``acts_from``: of hand, power, spark, crank, run, the least act that it forbids; empty for none.
    """

    title: str
    takes: str
    acts_from: str = ""


OIL_DRAINED = Missing("Oil drained", "crank", "crank")  # the strictest


@dataclass(frozen=True, kw_only=True)
class TaggedPart:
    """Which part of the car a drained fluid or a part taken out belongs to, and what that means."""

    code: str
    title: str
    out: Missing
    drained: Missing = OIL_DRAINED


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
        acts_from="crank",
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
        acts_from="crank",
    ),
    Tag(
        code="engine_preserved",
        title="Engine preserved: do not crank",
        holds_run="the engine is preserved: do not crank",
        acts_from="hand",
    ),
    Tag(
        code="danger",
        title="Danger: do not use",
        holds_run="a danger tag is open: clear what it warns of first",
        stops_moving=True,
        acts_from="hand",
    ),
)
TAG = {row.code: row for row in TAGS}

FUEL = Missing("Fuel part out or line off", "run", "run")
BRAKES = Missing("Brake part out", "move")
COOLING = Missing("Coolant drained", "run", "run")

TAGGED_PARTS = (
    TaggedPart(code="battery", title="Battery", out=Missing("Battery out", "crank", "power")),
    TaggedPart(code="engine", title="Engine", out=Missing("Engine part out", "crank", "hand")),
    TaggedPart(code="fuel", title="Fuel side", out=FUEL, drained=FUEL),
    TaggedPart(code="brakes", title="Brakes", out=BRAKES, drained=BRAKES),
    TaggedPart(code="wheels", title="Wheels", out=Missing("Wheel off or on stands", "move")),
    TaggedPart(
        code="drive",
        title="Clutch, gearbox, axle, steering",
        out=Missing("Clutch, gearbox or steering part out", "move"),
        drained=Missing("Gearbox or axle oil drained", "move"),
    ),
    TaggedPart(code="body", title="Lamps, glass, body", out=Missing("Lamp, glass or body part out", "road")),
    TaggedPart(code="cooling", title="Cooling", out=COOLING, drained=COOLING),
)
TAGGED_PART = {row.code: row for row in TAGGED_PARTS}
