"""What sensors measure, and where one may stand that measures it.

The limits are those of what can be true there (policy): a value outside is the sensor's fault, not the car's.
"""

from dataclasses import dataclass

from scheduler.vocabulary.positions import TYRES, Position

SITE, BUILDING, CAR = "site", "building", "vehicle"


@dataclass(frozen=True, kw_only=True)
class Sensed:
    """One quantity as sensors send it. ``places``: where a sensor of it may stand."""

    code: str
    title: str
    unit: str
    low: float
    high: float
    places: tuple[str, ...]
    positions: tuple[Position, ...] = ()


SENSED = (
    Sensed(
        code="temperature", title="Temperature", unit="°C", low=-60, high=80, places=(SITE, BUILDING, CAR)
    ),
    Sensed(code="humidity", title="Humidity", unit="%", low=0, high=105, places=(SITE, BUILDING)),
    Sensed(code="volts", title="Battery volts", unit="V", low=0, high=36, places=(CAR,)),
    Sensed(
        code="tyre_pressure",
        title="Tyre pressure",
        unit="kPa",
        low=0,
        high=900,
        places=(CAR,),
        positions=TYRES,
    ),
)
SENSED_BY_CODE = {row.code: row for row in SENSED}
