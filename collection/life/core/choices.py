"""The core's tables as choices for forms, and its readers of codes in plain words."""

from datetime import date

from scheduler.dating.chassis_number import read_chassis_number
from scheduler.duties.policy import PolicyTerm, terms
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.fluids.fluids import FLUID_KINDS
from scheduler.physics.fuel.fuels import FUELS
from scheduler.physics.tyres.age import weeks_made

__all__ = [
    "PolicyTerm",
    "chassis_warning",
    "chemistries",
    "fluid_types",
    "fuel_grades",
    "parse_date_code",
    "thresholds",
]

Choices = list[tuple[str, str]]


def chemistries() -> Choices:
    """Battery chemistries: key and words."""
    return [(row.name, row.label) for row in BATTERIES]


def fuel_grades() -> Choices:
    """Fuel grades: key and words."""
    return [(row.name, row.label) for row in FUELS]


def fluid_types(kind: str) -> Choices:
    """The types of one of the five fluids: key and words."""
    return [(row.name, row.label) for row in FLUID_KINDS if row.fluid == kind]


def thresholds() -> tuple[PolicyTerm, ...]:
    """Every threshold that an organisation may set."""
    return terms()


def parse_date_code(code: str, today: date) -> list[date]:
    """The days on which a tyre's date code lets its making begin, oldest first.

    ValueError says what is wrong with the code.
    """
    return [week.first for week in weeks_made(code, today)]


def chassis_warning(text: str, year: int | None) -> str:
    """What looks wrong about a chassis number; empty when nothing does. Never a reason to refuse."""
    read = read_chassis_number(text, year)
    return "; ".join(read.warnings)
