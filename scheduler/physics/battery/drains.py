"""What a parked car draws with the key off, by age, where nobody has measured it."""

from dataclasses import dataclass

from scheduler.vocabulary.constants import Constant, Standing


@dataclass(frozen=True)
class Drain:
    """Key-off current, A, of cars built from ``first_year`` on."""

    name: str
    label: str
    first_year: float
    current: Constant


def _amperes(value: float, low: float, high: float, source: str, standing: Standing) -> Constant:
    return Constant(value, "A", source, standing, low, high)


DRAINS: tuple[Drain, ...] = (
    Drain(
        "clock_only",
        "before 1985: a clock at most",
        0.0,
        _amperes(
            0.010,
            0.0,
            0.025,
            "web pages on quartz clocks, 5 to 25 mA (weak); a mechanical clock may take 80 mA",
            Standing.COMMON_PRACTICE,
        ),
    ),
    Drain(
        "early_electronics",
        "1985 to 2005",
        1985.0,
        _amperes(
            0.020,
            0.010,
            0.050,
            "training institute quoted in the press, 2025: under 50 mA in older cars",
            Standing.COMMON_PRACTICE,
        ),
    ),
    Drain(
        "modern",
        "2006 and later",
        2006.0,
        _amperes(
            0.030,
            0.015,
            0.085,
            "training institute quoted in the press, 2025: 50 to 85 mA in newer cars",
            Standing.COMMON_PRACTICE,
        ),
    ),
    Drain(
        "unknown",
        "age not recorded",
        9999.0,
        _amperes(
            0.020,
            0.0,
            0.085,
            "the middle of the three ages, with the range of all",
            Standing.POLICY,
        ),
    ),
)
