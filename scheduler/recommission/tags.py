"""Tags on a car: what is drained, open, out or inhibited, and which permission each takes away."""

from dataclasses import dataclass
from datetime import date
from enum import IntEnum

from scheduler.vocabulary.cited import Cited, practice, published
from scheduler.vocabulary.errors import BadInput


class Permission(IntEnum):
    """What may be done with the car, each including those before it."""

    CRANK = 0
    RUN = 1
    MOVE = 2
    ROAD = 3

    @property
    def label(self) -> str:
        """Words for people."""
        return ("may crank", "may run", "may move", "may use the road")[self]


@dataclass(frozen=True, slots=True)
class TagKind:
    """A kind of tag: the words that hang on the car and the first permission that it takes away."""

    name: str
    label: str
    revokes: Permission
    words: str
    source: Cited


STORAGE_TAGS = published("US Army TM 9-2330-235-14&P para 4-68 and 4-70")
PLANT_TAGS = published("MIL-HDBK-1130 para 2.2.3")
TRADE_TAGS = practice("workshop practice")
C, N, M, R = Permission.CRANK, Permission.RUN, Permission.MOVE, Permission.ROAD

_KINDS: tuple[TagKind, ...] = (
    TagKind(
        "engine_preserved",
        "Engine preserved",
        C,
        "Engine preserved: do not crank.",
        published("US Army preservation bulletin of the TB 740-97-4 series"),
    ),
    TagKind("danger", "Danger: do not use", C, "Danger: do not use.", TRADE_TAGS),
    TagKind("oil_drained", "Oil drained", C, "Oil drained on (date): refill before cranking.", PLANT_TAGS),
    TagKind(
        "drain_open", "Drain or plug open", C, "Open drain: refit (what, where) before filling.", STORAGE_TAGS
    ),
    TagKind("intake_blocked", "Intake blocked", C, "Intake blocked: clear before cranking.", TRADE_TAGS),
    TagKind("exhaust_blocked", "Exhaust blocked", C, "Exhaust blocked: clear before cranking.", TRADE_TAGS),
    TagKind("battery_out", "Battery out", C, "Battery is at (where).", STORAGE_TAGS),
    TagKind("engine_part_out", "Engine part out", C, "Part out: (what) is at (where).", STORAGE_TAGS),
    TagKind(
        "coolant_drained",
        "Coolant drained",
        N,
        "Coolant drained on (date): refill before running.",
        PLANT_TAGS,
    ),
    TagKind("fuel_part_out", "Fuel part out or line off", N, "Fuel line off: (where); capped.", STORAGE_TAGS),
    TagKind("brake_part_out", "Brake part out", M, "Brakes open: does not move.", STORAGE_TAGS),
    TagKind("wheel_off", "Wheel off or on stands", M, "On stands: wheels are at (where).", STORAGE_TAGS),
    TagKind("gear_oil_drained", "Gearbox or axle oil drained", M, "Gear oil drained on (date).", PLANT_TAGS),
    TagKind(
        "drive_part_out",
        "Clutch, gearbox or steering part out",
        M,
        "Part out: (what) is at (where).",
        STORAGE_TAGS,
    ),
    TagKind(
        "body_part_out", "Lamp, glass or body part out", R, "Part out: (what) is at (where).", STORAGE_TAGS
    ),
)
TAG_KINDS: dict[str, TagKind] = {kind.name: kind for kind in _KINDS}


@dataclass(frozen=True)
class Tag:
    """One tag on one car, open until it is cleared."""

    key: str
    kind: str
    text: str
    hung: date
    cleared: date | None = None


def kind_of(tag: Tag) -> TagKind:
    """The kind of a tag; BadInput lists the choices."""
    if tag.kind not in TAG_KINDS:
        raise BadInput("kind", f"{tag.kind!r} is none of {', '.join(TAG_KINDS)}")
    return TAG_KINDS[tag.kind]
