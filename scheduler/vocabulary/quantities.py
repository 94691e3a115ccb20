"""What is measured at a car; the core knows each by its place in the list.

The limits stop slips of the pen; they are policy, wide enough for a sick car's true reading.
"""

from dataclasses import dataclass

from scheduler.vocabulary.positions import CELLS, TYRES, WHEELS, Position


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """One quantity. ``home``: the kind of care that a table's row tells of by giving this alone.

    ``minutes``: to read it at one car, the tool in hand (policy).
    ``read_in``: the unit that people read, where it is not the one stored. ``slip_factor``: more than
    this many times the electrical system's volts is a slip. ``positions_a_volt``: a car has so many of
    the positions for each volt of its electrical system. ``position_title``: of the field and the column
    of one position, its title in the braces. ``everywhere``: positions that one column
    of a table may fill at once, under the headings ``everywhere_also``. ``patterns``: headings of one
    position, its short name in the braces. ``also``: headings of the quantity itself. Headings are parted
    by strokes.
    """

    code: str
    title: str
    home: str
    low: float
    high: float
    minutes: int
    unit: str = ""
    read_in: str = ""
    slip_factor: float | None = None
    positions: tuple[Position, ...] = ()
    positions_a_volt: float | None = None
    needs_position: bool = False
    position_title: str = ""
    also: str = ""
    patterns: str = ""
    everywhere: tuple[Position, ...] = ()
    everywhere_title: str = ""
    everywhere_also: str = ""


QUANTITIES = (
    Quantity(
        code="rested_volts",
        title="Rested volts",
        home="battery_reading",
        minutes=3,
        low=0,
        high=36,
        unit="V",
        slip_factor=1.2,  # no rested battery shows it
        also=(
            "volts|voltage|battery volts|battery voltage|battery|rest volts|resting voltage|batt v|"
            "ocv|batt|battery v|open circuit volts"
        ),
    ),
    Quantity(
        code="specific_gravity",
        title="Specific gravity",
        home="battery_reading",
        minutes=10,
        low=1.0,
        high=1.35,
        positions=CELLS,
        positions_a_volt=0.5,  # lead-acid: 2 V a cell
        position_title="Specific gravity, {}",
        also="sg|specific gravity|hydrometer",
        patterns="sg {}|cell {}|sg cell {}|sg{}",
    ),
    Quantity(
        code="charging_volts",
        title="Charging volts",
        home="run_up",
        minutes=2,
        low=0,
        high=36,
        unit="V",
        slip_factor=1.5,  # no regulator that still works shows it
        also="charging voltage|alternator volts|running volts|charge volts",
    ),
    Quantity(
        code="oil_pressure",
        title="Oil pressure",
        home="run_up",
        minutes=2,
        low=0,
        high=900,
        unit="kPa",
        also="oil press|engine oil pressure",
    ),
    Quantity(
        code="tyre_pressure",
        title="Tyre pressure",
        home="tyre_pressures",
        minutes=6,
        low=0,
        high=900,
        unit="kPa",
        positions=TYRES,
        needs_position=True,
        position_title="{} tyre pressure",
        patterns=(
            "{}|{} pressure|{} psi|{} tyre|{} tire|tyre {}|tire {}|tyre pressure {}|tire pressure {}|"
            "{} tyre pressure|{} tire pressure"
        ),
        everywhere=WHEELS,
        everywhere_title="Tyre pressure, all four",
        everywhere_also=(
            "tyre pressure|tyre pressures|tire pressure|tire pressures|tyres|tires|pressures|all tyres"
        ),
    ),
    Quantity(
        code="brake_water",
        title="Water in the brake fluid",
        home="fluid_reading",
        minutes=5,
        low=0,
        high=100,
        unit="%",
        also=("brake fluid water|brake moisture|brake fluid moisture|water in brake fluid|moisture"),
    ),
    Quantity(
        code="coolant_freeze_point",
        title="Coolant freezing point",
        home="fluid_reading",
        minutes=5,
        low=-80,
        high=20,
        unit="°C",
        also=(
            "freeze point|antifreeze|coolant freeze point|freezing point|coolant protection|frost protection"
        ),
    ),
    Quantity(
        code="key_off_drain",
        title="Key-off drain",
        home="battery_reading",
        minutes=20,
        low=0,
        high=5,
        unit="A",
        read_in="mA",
        also="drain|parasitic drain|key off drain|quiescent current|parasitic draw",
    ),
    Quantity(
        code="surface_rh",
        title="Relative humidity at the car",
        home="inspected",
        minutes=2,
        low=0,
        high=100,
        unit="%",
        also="humidity|relative humidity|rh",
    ),
    Quantity(
        code="tyre_pressure_set",
        title="Tyre pressure as set",
        home="tyre_pressures",
        minutes=10,
        low=0,
        high=900,
        unit="kPa",
        positions=TYRES,
        needs_position=True,
        position_title="{} tyre set to",
        patterns="{} set to|{} set|{} pressure set|set pressure {}|{} inflated to",
        everywhere=WHEELS,
        everywhere_title="Tyre pressure set, all four",
        everywhere_also="set to|tyres set to|tires set to|inflated to|pumped to|pressure set",
    ),
    Quantity(
        code="brake_boiling_point",
        title="Boiling point of the brake fluid",
        home="fluid_reading",
        minutes=5,
        low=80,
        high=350,
        unit="°C",
        also="brake fluid boiling point|brake boiling point|brake fluid boils",
    ),
    Quantity(
        code="coolant_ph",
        title="Coolant pH",
        home="fluid_reading",
        minutes=3,
        low=3,
        high=13,
        also="coolant test strip|antifreeze ph|coolant reserve",
    ),
    Quantity(
        code="load_volts",
        title="Volts under load",
        home="battery_reading",
        minutes=5,
        low=0,
        high=36,
        unit="V",
        slip_factor=1.2,
        also="load test|volts under load|load volts",
    ),
    Quantity(
        code="cranking_share",
        title="Cold-cranking amps, of the label",
        home="battery_reading",
        minutes=5,
        low=0,
        high=200,
        unit="%",
        also="cca|cranking amps|cca of label",
    ),
)
QUANTITY = {row.code: row for row in QUANTITIES}
