"""What a page of many cars shows of each: a cell for each part of the car, made of its duties."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from collection.life.duties import STATE_ORDER, DutyLine
from scheduler.vocabulary.duties import DUTIES, DUTY, Duty
from scheduler.vocabulary.own_duties import OTHER, PAPER

UNKNOWN = "unknown"
NOW = STATE_ORDER[:1]  # what may not wait
PRESSING = STATE_ORDER[:2]  # what wants somebody now
OF_SYSTEM = {
    "battery": "battery",
    "fuel": "fuel",
    "engine": "running",
    "tyres": "tyres",
    "papers": "papers",
}
OWN_IN = {"papers": f"{PAPER}-", "body": f"{OTHER}-"}  # how the codes of duties that keepers added begin


@dataclass(frozen=True)
class Part:
    """A column: ``about`` says what falls into it."""

    code: str
    title: str
    about: str


PARTS = (
    Part("battery", "Battery", "charge"),
    Part("fuel", "Fuel", "age and stabiliser"),
    Part("running", "Running", "run-ups under load"),
    Part("fluids", "Fluids", "oils, coolant, brake fluid"),
    Part("tyres", "Tyres", "pressure and flat spots"),
    Part("body", "Body and air", "inspections of the whole car, and own duties"),
    Part("papers", "Papers", "papers to renew"),
)


def part_of(duty: Duty) -> str:
    """The column into which a duty falls; one of the whole car is of its body."""
    if duty.fluid and duty.system != "fuel":
        return "fluids"
    return OF_SYSTEM.get(duty.system, "body")


DUTIES_OF = {part.code: tuple(duty.code for duty in DUTIES if part_of(duty) == part.code) for part in PARTS}


def falls_in(part: str) -> Q:
    """Which rows of duties fall into a column."""
    own = Q(duty__startswith=OWN_IN[part]) if part in OWN_IN else Q()
    return Q(duty__in=DUTIES_OF[part]) | own


@dataclass(frozen=True)
class Cell:
    """What presses most in one part of a car; without a line, nothing is on record."""

    part: Part
    line: DutyLine | None

    @property
    def state(self) -> str:
        """A key of the badges."""
        return self.line.state if self.line else UNKNOWN

    @property
    def presses(self) -> bool:
        """Whether it wants somebody now."""
        return self.state in PRESSING

    @property
    def on(self) -> date | None:
        """The next date; none while it is on hold, nothing is known, or nothing is in sight."""
        return self.line.by if self.line and self.state not in ("on_hold", UNKNOWN) else None


def cells_of(lines: Iterable[DutyLine]) -> list[Cell]:
    """A car's cells in the order of the columns; ``lines`` come most urgent first."""
    first: dict[str, DutyLine] = {}
    for line in lines:
        first.setdefault(part_of(DUTY[line.duty]), line)
    return [Cell(part, first.get(part.code)) for part in PARTS]
