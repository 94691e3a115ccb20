"""Units that people type at the car, and what they are in the units of the checks."""

from scheduler.vocabulary.errors import BadInput
from scheduler.vocabulary.units import KPA_PER_BAR, KPA_PER_PSI

KPA_PER_INHG = 3.386389  # conventional inch of mercury, NIST SP 811 (from memory)
ML_PER_US_PINT = 473.176473  # an eighth of a US gallon of 231 cubic inches

# How much of the check's unit one unit typed is, by (typed, wanted).
UNITS: dict[tuple[str, str], float] = {
    ("psi", "kPa"): KPA_PER_PSI,
    ("bar", "kPa"): KPA_PER_BAR,
    ("inHg", "kPa"): KPA_PER_INHG,
    ("l", "ml"): 1000.0,
    ("US pint", "ml"): ML_PER_US_PINT,
    ("mV", "V"): 0.001,
    ("min", "s"): 60.0,
}


def brought_to(wanted: str, value: float, typed: str) -> float:
    """A value typed in one unit, in the unit ``wanted``; BadInput if the two do not measure the same."""
    if typed == wanted:
        return value
    factor = UNITS.get((typed, wanted))
    if factor is None:
        raise BadInput("unit", f"is measured in {wanted}, not {typed or 'no unit'}")
    return value * factor
