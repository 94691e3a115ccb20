"""What each kind of care log entry may hold: keys, types and limits, in SI units.

The limits stop slips of the pen; they are policy, wide enough for a sick car's true reading.
Forms take their limits from here, so that page and programme refuse the same things.
"""

from dataclasses import dataclass

from collection.models import CareKind, FluidKind, Quantity, TyrePosition


@dataclass(frozen=True)
class Number:
    """A measured or counted value between two limits, both allowed."""

    label: str
    low: float
    high: float
    unit: str = ""
    required: bool = False


@dataclass(frozen=True)
class Flag:
    """Yes or no."""

    label: str
    required: bool = False


@dataclass(frozen=True)
class Choice:
    """One of a few words."""

    label: str
    words: tuple[str, ...]
    required: bool = False


@dataclass(frozen=True)
class Text:
    """Free words up to a length."""

    label: str
    limit: int
    required: bool = False


@dataclass(frozen=True)
class Words:
    """A list of short texts."""

    label: str
    limit: int = 60
    most: int = 40
    required: bool = False


@dataclass(frozen=True)
class Row:
    """The number of a row of ours: a bay."""

    label: str
    required: bool = False


Rule = Number | Flag | Choice | Text | Words | Row

TANK = 1000.0  # litres; where the car's own tank is known, that is the limit
MAINTAINER_STATES = ("on", "off", "lost_power")
TAGS = {
    "drained": "Fluid drained",
    "drain_open": "Drain or plug open",
    "part_out": "Part taken out",
    "intake_blocked": "Intake or exhaust blocked",
    "engine_preserved": "Engine preserved: do not crank",
    "danger": "Danger: do not use",
}

# Which system a part or a drained fluid belongs to: decides which permission its tag takes away.
PART_SYSTEMS = ("battery", "engine", "cooling", "fuel", "brakes", "wheels", "drive", "body")

DETAILS: dict[str, dict[str, Rule]] = {
    CareKind.CHARGE: {
        "completed": Flag("Charged in full", required=True),
        "hours": Number("On charge for", 0, 500, "h"),
        "amps": Number("Charging current", 0, 100, "A"),
    },
    CareKind.MAINTAINER: {"state": Choice("Maintainer", MAINTAINER_STATES, required=True)},
    CareKind.BATTERY_READING: {},
    CareKind.RUN_UP: {
        "minutes": Number("Run for", 0, 600, "min", required=True),
        "reached_temperature": Flag("Reached full temperature", required=True),
        "driven": Flag("Driven", required=True),
        "distance_km": Number("Distance", 0, 2000, "km"),
    },
    CareKind.STABILISER: {
        "litres": Number("Litres of fuel treated", 0, TANK, "litres", required=True),
        "dose_ml": Number("Dose", 0, 5000, "ml"),
        "ratio": Number("Parts of fuel to one part of stabiliser", 1, 10000),
    },
    CareKind.FUEL_ADDED: {
        "litres": Number("Litres added", 0, TANK, "litres", required=True),
        "grade": Text("Grade", 20),
        "bio_pct": Number("Ethanol or FAME", 0, 100, "%"),
    },
    CareKind.FUEL_DRAINED: {
        "litres": Number("Litres drained", 0, TANK, "litres"),
        "emptied": Flag("Tank emptied", required=True),
    },
    CareKind.FLUID_CHANGED: {
        "fluid": Choice("Fluid", tuple(FluidKind.values), required=True),
        "type": Text("Type", 30),
        "glycol_pct": Number("Glycol", 0, 100, "% by volume"),
    },
    CareKind.FLUID_READING: {},
    CareKind.TYRE_PRESSURES: {"topped_up": Flag("Topped up")},
    CareKind.MOVED: {
        "wheels_only": Flag("Put back in the same place", required=True),
        "to_bay": Row("New bay"),
        "to_bay_label": Text("New place", 100),
    },
    CareKind.INSPECTED: {
        "ok": Flag("Nothing wrong", required=True),
        "found": Words("Found"),
    },
    CareKind.TAG_OPENED: {
        "tag": Choice("Tag", tuple(TAGS), required=True),
        "system": Choice("System", PART_SYSTEMS),
        "where": Text("Where on the car", 100, required=True),
    },
    CareKind.TAG_CLOSED: {"opened": Text("Tag taken off", 36, required=True)},
    CareKind.NOT_DONE: {
        "duty": Text("Work", 20, required=True),
        "reason": Text("Reason", 200, required=True),
    },
    CareKind.WAKING_RESULT: {
        "check": Text("Step", 40, required=True),
        "value": Number("Value", -1e6, 1e6),
        "unit": Text("Unit", 12),
        "answer": Text("Found", 60),
        "could_not": Text("Could not be done", 200),
        "instrument": Text("With", 60),
        "temperature_c": Number("At", -60, 80, "°C"),
        "altitude_m": Number("Height above the sea", -400, 5000, "m"),
    },
    CareKind.SYSTEM_SEEN: {
        "system": Text("System", 30, required=True),
        "seen": Choice("Looks", ("faulty", "good"), required=True),
        "text": Text("Seen", 200, required=True),
    },
    CareKind.HAZARD: {
        "hazard": Text("Hazard", 40, required=True),
        "present": Flag("There", required=True),
    },
    CareKind.FAULT_TEST: {
        "symptom": Text("Fault", 40, required=True),
        "begun": Flag("Search begun anew"),
        "test": Text("Test", 40),
        "outcome": Text("Came out", 40),
        "could_not": Text("Could not be done", 200),
    },
    CareKind.WITHDRAWN: {},
    CareKind.NOTE: {
        "found": Text("Found, to be seen to", 60),
        "answers": Text("What was found before and is seen to", 36),
    },
}

READINGS: dict[str, Number] = {
    Quantity.RESTED_VOLTS: Number("Rested volts", 0, 36, "V"),
    Quantity.SPECIFIC_GRAVITY: Number("Specific gravity", 1.0, 1.35),
    Quantity.CHARGING_VOLTS: Number("Charging volts", 0, 36, "V"),
    Quantity.OIL_PRESSURE: Number("Oil pressure", 0, 900, "kPa"),
    Quantity.TYRE_PRESSURE: Number("Tyre pressure", 0, 900, "kPa"),
    Quantity.BRAKE_WATER: Number("Water in the brake fluid", 0, 100, "%"),
    Quantity.COOLANT_FREEZE_POINT: Number("Coolant freezing point", -80, 20, "°C"),
    Quantity.KEY_OFF_DRAIN: Number("Key-off drain", 0, 5, "A"),
    Quantity.SURFACE_RH: Number("Relative humidity at the car", 0, 100, "%"),
}
TEMPERATURE = Number("Temperature", -60, 80, "°C")
REST = Number("Rested for", 0, 100_000, "h")

# A reading above this many times the system's volts is a slip: no rested battery and no regulator
# that still works shows it.
SLIP_TIMES_SYSTEM = {Quantity.RESTED_VOLTS: 1.2, Quantity.CHARGING_VOLTS: 1.5}

MAY_HOLD: dict[str, frozenset[str]] = {
    CareKind.CHARGE: frozenset({Quantity.RESTED_VOLTS, Quantity.SPECIFIC_GRAVITY}),
    CareKind.BATTERY_READING: frozenset(
        {Quantity.RESTED_VOLTS, Quantity.SPECIFIC_GRAVITY, Quantity.KEY_OFF_DRAIN}
    ),
    CareKind.RUN_UP: frozenset({Quantity.OIL_PRESSURE, Quantity.CHARGING_VOLTS}),
    CareKind.FLUID_READING: frozenset({Quantity.BRAKE_WATER, Quantity.COOLANT_FREEZE_POINT}),
    CareKind.TYRE_PRESSURES: frozenset({Quantity.TYRE_PRESSURE}),
    CareKind.INSPECTED: frozenset({Quantity.SURFACE_RH}),
}
NEEDS_A_READING = frozenset({CareKind.BATTERY_READING, CareKind.FLUID_READING, CareKind.TYRE_PRESSURES})

POSITIONS: dict[str, tuple[str, ...]] = {
    Quantity.SPECIFIC_GRAVITY: tuple("123456"),
    Quantity.TYRE_PRESSURE: tuple(TyrePosition.values),
}
