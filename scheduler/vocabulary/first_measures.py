"""What a person can measure or read in two minutes, and how; what it would tell is worked out by the core."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Measure:
    """One such act. ``care``: the kind of care it is logged as; else ``part`` of the record where it is read.

    ``quantity``: what is measured; ``usual``: what a car in middling order shows, policy, by which it is
    worked out how much surer one would be.
    """

    code: str
    title: str
    how: str
    quantity: str = ""
    usual: float
    care: str = ""
    part: str = ""


MEASURES = (
    Measure(
        code="rested_volts",
        title="Volts of the battery at rest",
        how="Voltmeter across the posts, four hours after it last ran or charged.",
        quantity="rested_volts",
        usual=12.5,  # of a 12 V battery
        care="battery_reading",
    ),
    Measure(
        code="tyre_pressure",
        title="Tyre pressures",
        how="Gauge on each valve, tyres cold.",
        quantity="tyre_pressure",
        usual=200.0,
        care="tyre_pressures",
    ),
    Measure(
        code="brake_water",
        title="Water in the brake fluid",
        how="Tester pen in the reservoir. Wipe it first; the fluid eats paint.",
        quantity="brake_water",
        usual=1.5,
        care="fluid_reading",
    ),
    Measure(
        code="coolant_freeze_point",
        title="Freezing point of the coolant",
        how="Refractometer or hydrometer. Engine cold: hot, the cap lets scalding water out.",
        quantity="coolant_freeze_point",
        usual=-30.0,
        care="fluid_reading",
    ),
    Measure(
        code="fuel_filled",
        title="When the tank was filled",
        how="Receipt or memory; how much the gauge shows.",
        usual=0.3,  # years ago
        part="fuel",
    ),
    Measure(
        code="service_book",
        title="When its fluids were changed",
        how="Service book or invoices: oils, coolant, brake fluid.",
        usual=1.5,  # years ago
        part="fluids",
    ),
)
