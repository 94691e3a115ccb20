"""Cars with one fault each, as they would be at the bench: a truth apart from the search's tables.

Written from trade practice, never from the tables and never fitted to the search. A fault has a severity that
all its tests share, a car has blemishes that are not its fault (dirt, a tired battery, a plug a little
wet), and a person misreads by what is read: a meter, a hand or an eye, or dirt. So results depend on one
another, which the tables deny. A test done again meets the same car; only the reading is new. All shares
here are judgements.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

METER, SIGHT, DIRT = 0.03, 0.07, 0.14  # share misread (floors of meter work, of looking, of ambiguous dirt)
TOOL, BENCH = 0.15, 0.20  # share that cannot be done: a special tool, something large to take apart
Results = dict[str, tuple[str, float, float]]  # test: what is there, share misread, share that cannot be done


@dataclass
class Car:
    """One car with its fault; what is drawn once stays."""

    fault: str
    random: np.random.Generator
    severity: float = field(init=False)

    def __post_init__(self) -> None:
        self.severity = float(self.random.uniform(0.45, 1.0))

    def has(self, *faults: str) -> bool:
        """Whether its fault is one of these."""
        return self.fault in faults

    def chance(self, share: float) -> bool:
        """Drawn once for this car."""
        return bool(self.random.random() < share)

    def worse_than(self, severity: float) -> bool:
        """Whether the fault is bad enough to show in a test of this sharpness."""
        return self.severity > severity


def pick(*rules: tuple[str, bool], otherwise: str) -> str:
    """The first outcome whose rule holds."""
    return next((outcome for outcome, holds in rules if holds), otherwise)


def cranks_not(car: Car) -> Results:
    """A circuit: battery, clamps, strap, solenoid, starter, and what the starter has to turn."""
    other_kind = car.random.integers(3) if car.has("other") else -1
    charge = car.random.uniform(0.0, 0.4) if car.has("flat") else car.random.uniform(0.55, 1.0)
    if not car.has("flat", "bad") and car.chance(0.10):
        charge = 0.45  # tired, yet it would crank
    dead_cell = car.has("bad") and car.chance(0.45)
    rest = 11.75 + 0.9 * charge - (2.0 if dead_cell else 0.0)
    weak = car.has("bad") or charge < 0.42
    still_bad = car.has("bad") and car.worse_than(0.48)
    stuck = (car.has("seized") and car.worse_than(0.48)) or (car.has("liquid") and car.chance(0.85))
    jammed = car.has("starter") and car.chance(0.4)
    dim = weak or stuck or jammed or (car.has("terminals") and car.worse_than(0.55))
    return {
        "rest_volts": ("low" if rest < 12.4 else "good", METER, 0.02),
        "load": ("fails" if weak else "holds", METER, TOOL),
        "recharge": ("fails" if still_bad else "holds", METER, 0.1),
        "hand_turn": ("locked" if stuck else "turns", 0.04, 0.1),
        "plugs_out": (
            pick(
                ("liquid", car.has("liquid")),
                ("locked", car.has("seized") and car.worse_than(0.46)),
                otherwise="turns",
            ),
            0.03,
            0.1,
        ),
        "lamps": ("dim" if dim or other_kind == 0 else "bright", SIGHT, 0.02),
        "drops": (
            pick(
                ("clamp", car.has("terminals") and car.worse_than(0.5)),
                ("strap", car.has("earth") and car.worse_than(0.48)),
                otherwise="low",
            ),
            METER,
            0.05,
        ),
        "solenoid_feed": (
            "dark" if car.has("feed") or (car.has("flat") and charge < 0.1) else "lit",
            METER,
            0.1,
        ),
        "booster": (
            "cranks"
            if car.has("flat", "bad", "terminals", "earth")
            or (car.has("solenoid", "feed") and car.chance(0.6))
            else "no",
            0.04,
            0.1,
        ),
    }


def cranks_no_spark(car: Car) -> Results:
    """The primary circuit, the coil, and the way to the plugs; points filmed a little on many cars."""
    filmed = car.has("points") and car.worse_than(0.5)
    grey = not car.has("points", "closed") and car.chance(0.2)
    feed, short = car.has("feed"), car.has("shorted", "earthed")
    partly = feed and car.chance(0.08)  # a ballast that lets some volts through
    primary = not feed and not short and not car.has("points", "closed", "broken", "winding")
    high = primary and not car.has("insulation")
    weak = car.has("condenser")
    always_low = feed or short or car.has("closed") or (car.has("winding") and car.chance(0.5))
    other_late = car.has("other") and car.chance(0.6)
    jumped = (not feed or partly) and not car.has("winding", "insulation")
    flicked = (
        (high and not weak) or (car.has("closed") and car.chance(0.5)) or (weak and not car.worse_than(0.5))
    )
    return {
        "coil_feed": ("none" if feed and not partly else "volts", METER, 0.03),
        "points_look": (
            pick(("no_gap", car.has("closed")), ("dirty", filmed or grey), otherwise="clean"),
            SIGHT,
            0.05,
        ),
        "points_ohm": ("high" if filmed else "low", METER, 0.05),
        "points_open": (
            pick(("clears", car.has("shorted")), ("stays", car.has("earthed")), otherwise="open"),
            METER,
            0.08,
        ),
        "coil_minus": (
            pick(("stays_low", always_low), ("stays_high", filmed or car.has("broken")), otherwise="toggles"),
            METER,
            0.1,
        ),
        "jumped": ("spark" if jumped and not (car.has("other") and not other_late) else "none", SIGHT, 0.1),
        "flicked": ("spark" if flicked and not (car.has("other") and not other_late) else "none", SIGHT, 0.1),
        "coil_ohm": (
            "wrong" if car.has("winding") or (car.has("insulation") and car.chance(0.12)) else "right",
            METER,
            0.1,
        ),
        "swap": (
            pick(
                ("coil", car.has("winding", "insulation")),
                ("condenser", car.has("shorted", "condenser")),
                otherwise="neither",
            ),
            0.04,
            0.25,
        ),
        "cap_look": ("track" if car.has("cap") and car.worse_than(0.6) else "clean", SIGHT, 0.03),
        "lead_spark": ("spark" if car.has("plugs") or other_late else "none", SIGHT, 0.1),
    }


def _a_little(car: Car) -> bool:
    """Whether the tank side is choked and a little still comes."""
    choked = car.has("pickup", "line", "vent", "empty", "air")
    return choked and not car.worse_than(0.55)


def spark_no_fuel(car: Car) -> Results:
    """A chain: tank, pickup, line, pump, filter, needle, jets."""
    a_little = _a_little(car)
    vent = car.has("vent")  # a vent chokes by and by: the first pints come
    at_outlet = (
        car.has("after", "needle", "jets")
        or (vent and car.chance(0.35))
        or (a_little and not car.has("empty"))
    )
    at_inlet = car.has("needle", "jets") or (at_outlet and not car.has("after", "other"))
    some_other = car.has("other") and car.chance(0.5)
    return {
        "dip": ("empty" if car.has("empty") else "fuel", 0.02, 0.05),
        "bowl_seen": (
            "full" if car.has("jets") or (car.has("other") and car.chance(0.15)) else "dry",
            0.05,
            0.1,
        ),
        "squirt": ("squirts" if car.has("jets") and car.chance(0.5) else "none", SIGHT, 0.1),
        "outlet": ("flows" if at_outlet else "none", 0.05, 0.1),
        "inlet_carburettor": ("flows" if at_inlet else "none", 0.05, 0.08),
        "pump_auxiliary": ("none" if car.has("pump") or some_other else "flows", 0.04, 0.1),
        "cap_loose": ("cured" if vent and car.worse_than(0.49) else "same", 0.05, 0.02),
        "clear_hose": (
            "bubbles"
            if (car.has("air") and car.worse_than(0.5)) or (car.has("empty") and car.chance(0.8))
            else "none",
            0.06,
            0.15,
        ),
        "drain": (
            pick(
                ("neither", car.has("empty")),
                ("drain_only", car.has("pickup", "line") and not a_little),
                otherwise="both",
            ),
            0.05,
            0.3,
        ),
        "isolated": ("blocked" if car.has("line") and car.worse_than(0.48) else "clear", 0.04, 0.15),
    }


def will_not_start(car: Car) -> Results:
    """Mixture, spark, compression, timing; a plug may be wet for many reasons."""
    wet_share = {
        "flooded": 0.95,
        "weak": 0.75,
        "timing": 0.6,
        "exhaust": 0.5,
        "compression": 0.45,
        "stale": 0.5,
        "water": 0.3,
        "valves": 0.5,
        "air": 0.08,
        "other": 0.35,
    }
    aged = car.chance(0.12)  # fuel a little dark that would still burn
    return {
        "plugs_wet": ("wet" if car.chance(wet_share[car.fault]) else "dry", 0.05, 0.05),
        "jar": (
            pick(
                ("water", car.has("water")),
                ("dark", (car.has("stale") and car.worse_than(0.5)) or aged),
                otherwise="clean",
            ),
            SIGHT,
            0.05,
        ),
        "clear": ("fires" if car.has("flooded") and car.worse_than(0.55) else "no", 0.05, 0.05),
        "fresh": (
            "fires"
            if (car.has("stale") and car.worse_than(0.48))
            or (car.has("water") and car.chance(0.55))
            or (car.has("air") and car.chance(0.35))
            else "no",
            0.06,
            0.05,
        ),
        "static": (
            "wrong"
            if (car.has("timing") and car.worse_than(0.48)) or (car.has("valves") and car.chance(0.25))
            else "right",
            0.05,
            0.05,
        ),
        "pressures": (
            "low"
            if (car.has("compression", "valves") and car.worse_than(0.5))
            or (car.has("flooded") and car.chance(0.3))  # bores washed dry
            else "even",
            0.05,
            TOOL,
        ),
        "choke": ("fault" if car.has("air") and car.worse_than(0.55) else "sound", 0.08, 0.03),
        "strong": ("weak" if car.has("weak") and car.worse_than(0.49) else "strong", 0.06, 0.1),
        "marks": ("wrong" if car.has("valves") else "right", 0.03, BENCH),
        "tail": ("nothing" if car.has("exhaust") and car.worse_than(0.5) else "puffs", SIGHT, 0.05),
    }


def starts_then_dies(car: Car) -> Results:
    """Fuel that is not made good, spark by the start feed only, air, exhaust."""
    return {
        "key": ("yes" if car.has("runfeed") else "later", 0.05, 0.02),
        "coil_run": (
            "none" if car.has("runfeed") or (car.has("cut") and car.chance(0.25)) else "volts",
            METER,
            0.03,
        ),
        "bowl": (
            pick(
                (
                    "dry",
                    (car.has("supply") and car.worse_than(0.48)) or (car.has("other") and car.chance(0.2)),
                ),
                ("over", car.has("flood") and car.worse_than(0.5)),
                otherwise="level",
            ),
            0.05,
            0.1,
        ),
        "auxiliary": (
            "runs" if car.has("supply") or (car.has("water") and car.chance(0.55)) else "dies",
            0.05,
            0.08,
        ),
        "throttle": (
            "runs"
            if (car.has("idle") and car.worse_than(0.52)) or (car.has("air") and car.chance(0.55))
            else "dies",
            0.08,
            0.03,
        ),
        "vacuum": (
            pick(
                ("falls", car.has("exhaust") and car.worse_than(0.5)),
                ("low", car.has("air") and car.worse_than(0.52)),
                otherwise="usual",
            ),
            0.08,
            TOOL,
        ),
        "jar": ("water" if car.has("water") else "clean", 0.04, 0.05),
        "lamp": ("fault" if car.has("cut") and car.worse_than(0.5) else "none", 0.04, 0.2),
    }


def runs_then_dies(car: Car) -> Results:
    """Starved by and by, or no spark once hot."""
    hot = car.has("coil", "condenser")
    other_full = car.has("other") and car.chance(0.5)
    starved = car.has("pickup", "vent", "line", "air") or (car.has("water") and car.chance(0.7))
    boils = car.has("vapour") and car.chance(0.3)
    return {
        "spark_dead": (
            "none" if (hot and car.worse_than(0.48)) or (car.has("other") and car.chance(0.25)) else "spark",
            0.05,
            0.15,
        ),
        "bowl_dead": (
            "full"
            if hot
            or other_full
            or (car.has("water") and car.chance(0.85))
            or (car.has("needle") and car.chance(0.25))
            else "low",
            SIGHT,
            0.15,
        ),
        "cap_loose": (
            "cured"
            if (car.has("vent") and car.worse_than(0.49)) or (car.has("pickup") and car.chance(0.08))
            else "same",
            0.05,
            0.03,
        ),
        "inlet_vacuum": (
            "high"
            if (car.has("pickup", "vent", "line") and car.worse_than(0.5))
            or (car.has("filter") and car.chance(0.4))
            else "low",
            0.05,
            TOOL,
        ),
        "auxiliary": ("dies" if hot or car.has("needle") or other_full or boils else "runs", 0.06, 0.05),
        "pump_auxiliary": ("runs" if starved or boils else "dies", SIGHT, 0.08),
        "volume": ("low" if car.has("pump") and car.worse_than(0.49) else "right", 0.05, 0.1),
        "new_filter": (
            "loaded"
            if car.has("filter") or (car.has("pickup") and car.chance(0.65)) or car.chance(0.12)
            else "clean",
            SIGHT,
            0.05,
        ),
        "wet_rag": (
            "recovers"
            if (car.has("vapour") and car.worse_than(0.58)) or (car.has("coil") and car.chance(0.15))
            else "same",
            0.06,
            0.05,
        ),
        "screen": ("blocked" if car.has("pickup") or car.chance(0.1) else "clean", 0.06, BENCH),
        "jar": ("water" if car.has("water") else "clean", 0.04, 0.05),
    }


def overheats(car: Car) -> Results:
    """Heat that is not there, not carried, or not given off."""
    return {
        "level": (
            "low"
            if (car.has("low") and car.worse_than(0.48))
            or (car.has("gasket") and car.chance(0.55))
            or (car.has("pump") and car.chance(0.35))
            else "full",
            0.05,
            0.02,
        ),
        "belt_look": ("slack" if car.has("belt") and car.worse_than(0.5) else "tight", 0.05, 0.02),
        "thermometer": ("cool" if car.has("gauge") else "hot", 0.05, 0.1),
        "top_hose": (
            "cold"
            if (car.has("thermostat") and car.worse_than(0.5))
            or (car.has("pump", "low") and car.chance(0.35))
            else "warm",
            0.06,
            0.05,
        ),
        "pan": ("shut" if car.has("thermostat") else "opens", METER, 0.1),
        "patches": ("patches" if car.has("silt") and car.worse_than(0.52) else "even", SIGHT, 0.1),
        "gas": ("gas" if car.has("gasket") and car.worse_than(0.5) else "none", 0.04, TOOL),
        "timing_lamp": ("wrong" if car.has("timing") and car.worse_than(0.5) else "right", 0.06, 0.1),
        "flow": (
            "still"
            if (car.has("pump") and car.worse_than(0.52))
            or (car.has("belt") and car.chance(0.55))
            or (car.has("low") and car.chance(0.35))
            or (car.has("silt") and car.chance(0.2))
            else "moves",
            0.05,
            0.1,
        ),
    }


def no_charge_dynamo(car: Car) -> Results:
    """A dynamo as a machine: residual field, brushes, windings, and what is outside it."""
    slips = car.has("belt") and car.worse_than(0.6)
    poor_brush = car.has("brushes") and car.worse_than(0.6)
    turn_short = car.has("armature") and car.chance(0.45)
    alone = 0.3 if car.has("residual") or slips or poor_brush or turn_short else 2.0
    if car.has("residual") or poor_brush or (car.has("field") and car.worse_than(0.55)) or slips:
        linked = "none"
    elif car.has("armature") and car.worse_than(0.58):
        linked = "two"
    else:
        linked = "climbs"
    return {
        "belt_look": ("slack" if car.has("belt") and car.worse_than(0.5) else "tight", 0.05, 0.02),
        "second_meter": ("rises" if car.has("meter") else "no", METER, 0.03),
        "alone": ("none" if alone < 0.5 else "some", METER, 0.1),
        "linked": (linked, 0.04, 0.1),
        "polarised": ("charges" if car.has("residual") and car.worse_than(0.48) else "no", 0.04, 0.1),
        "drop": (
            "high"
            if (car.has("cable") and car.worse_than(0.5)) or (car.has("regulator") and car.chance(0.35))
            else "low",
            METER,
            0.08,
        ),
        "brush_look": ("stuck" if car.has("brushes") or car.chance(0.08) else "good", SIGHT, 0.05),
        "field_ohm": ("outside" if car.has("field") and car.worse_than(0.47) else "inside", 0.04, 0.05),
    }


def no_charge(car: Car) -> Results:
    """An alternator: excited by its lamp, through brushes and regulator."""
    return {
        "belt_look": ("slack" if car.has("belt") and car.worse_than(0.5) else "tight", 0.05, 0.02),
        "lamp_lit": (
            "dark"
            if car.has("lamp")
            or (car.has("brushes") and car.chance(0.5))
            or (car.has("windings") and car.chance(0.1))
            else "lit",
            0.03,
            0.03,
        ),
        "bulb": ("lights" if car.has("lamp") and car.chance(0.8) else "same", 0.03, 0.1),
        "cable_drop": ("high" if car.has("cable") and car.worse_than(0.5) else "low", METER, 0.05),
        "earth_drop": ("high" if car.has("earth") and car.worse_than(0.5) else "low", METER, 0.05),
        "full_field": (
            "charges" if car.has("regulator") or (car.has("lamp") and car.chance(0.8)) else "nothing",
            0.05,
            0.3,
        ),
        "brush_look": ("worn" if car.has("brushes") and car.worse_than(0.49) else "good", SIGHT, TOOL),
        "bench": (
            "fails"
            if car.has("windings")
            or (car.has("brushes") and car.chance(0.85))
            or (car.has("regulator") and car.chance(0.5))
            else "good",
            0.04,
            0.3,
        ),
    }


def dragging_brake(car: Car) -> Results:
    """Held by its cable, by pressure that stays, or by rust."""
    both = (car.has("cable") and car.chance(0.75)) or (car.has("shoes") and car.chance(0.25))
    both = both or (car.has("hose") and car.chance(0.35)) or (car.has("other") and car.chance(0.45))
    return {
        "which": (pick(("all", car.has("master")), ("pair", both), otherwise="one"), 0.06, 0.05),
        "handbrake": ("frees" if car.has("cable") and car.worse_than(0.5) else "same", 0.05, 0.1),
        "nipple": ("frees" if car.has("hose", "master") and car.worse_than(0.47) else "same", 0.05, 0.2),
        "union": ("frees" if car.has("master") and car.worse_than(0.47) else "same", 0.05, 0.2),
        "free_play": ("none" if car.has("master") and car.chance(0.7) else "play", 0.05, 0.02),
        "drum_off": (
            pick(
                ("rusted", car.has("shoes")),
                ("piston", car.has("cylinder") and car.worse_than(0.48)),
                ("spring", car.has("spring")),
                otherwise="nothing",
            ),
            0.06,
            0.1,
        ),
    }


def soft_pedal(car: Car) -> Results:
    """Springy, sinking or long."""
    sinks = car.has("master", "leak") and car.worse_than(0.5)
    return {
        "pump_pedal": (
            pick(
                ("sinks", sinks),
                ("firm", car.has("adjustment", "play") or (car.has("air", "hose") and car.chance(0.25))),
                otherwise="springy",
            ),
            SIGHT,
            0.02,
        ),
        "look_wet": (
            "wet"
            if (car.has("leak") and car.worse_than(0.5)) or (car.has("master") and car.chance(0.3))
            else "dry",
            SIGHT,
            0.05,
        ),
        "hold": ("sinks" if sinks else "holds", 0.05, 0.02),
        "watch_hoses": ("swells" if car.has("hose") and car.worse_than(0.52) else "still", 0.06, 0.1),
        "bleed": ("bubbles" if car.has("air") and car.worse_than(0.48) else "clean", 0.06, 0.1),
        "adjust": ("cured" if car.has("adjustment") and car.worse_than(0.49) else "same", 0.05, 0.05),
        "rock": ("play" if car.has("play") and car.worse_than(0.48) else "none", 0.06, 0.03),
        "fluid": ("wet" if car.has("water") or car.chance(0.12) else "dry", 0.04, 0.1),
    }


def no_oil_pressure(car: Car) -> Results:
    """No oil, no suction, no tightness, or no true gauge."""
    no_flow = (car.has("drained", "strainer", "low") and car.worse_than(0.52)) or (
        car.has("relief") and car.chance(0.4)
    )
    return {
        "dipstick": (
            pick(
                ("low", car.has("low")), ("thin", car.has("thin") and car.worse_than(0.5)), otherwise="right"
            ),
            0.05,
            0.02,
        ),
        "mechanical": (
            "pressure" if car.has("gauge") or (car.has("bearings") and car.chance(0.15)) else "none",
            0.04,
            0.1,
        ),
        "filter_flow": ("none" if no_flow or (car.has("other") and car.chance(0.3)) else "flows", 0.05, 0.15),
        "prime": (
            "comes"
            if (car.has("drained") and car.worse_than(0.49)) or (car.has("relief") and car.chance(0.1))
            else "none",
            0.05,
            0.1,
        ),
        "relief_out": ("stuck" if car.has("relief") else "free", 0.05, TOOL),
        "sump_off": ("blocked" if car.has("strainer") or car.chance(0.06) else "clear", 0.05, BENCH),
        "clearance": ("worn" if car.has("bearings") and car.worse_than(0.5) else "good", 0.05, 0.25),
    }


def auxiliary_only(car: Car) -> Results:
    """It runs when fed: what lies between its tank and the carburettor."""
    inlet = car.has("pickup", "line", "vent") and car.worse_than(0.5)
    return {
        "pump_auxiliary": (
            "fails" if car.has("pump", "outlet") and car.worse_than(0.5) else "passes",
            0.05,
            0.1,
        ),
        "outlet_off": ("low" if car.has("pump") and car.worse_than(0.5) else "right", 0.05, 0.1),
        "cap_loose": (
            "cured"
            if (car.has("vent") and car.worse_than(0.49)) or (car.has("pickup") and car.chance(0.08))
            else "same",
            0.05,
            0.03,
        ),
        "inlet_vacuum": ("high" if inlet else "low", 0.05, TOOL),
        "deadhead": ("weak" if car.has("pump") and car.worse_than(0.5) else "good", METER, TOOL),
        "sections": ("lost" if car.has("line", "air") and car.worse_than(0.5) else "good", 0.05, BENCH),
        "siphon": (
            pick(
                ("dry", car.has("line", "empty") or (car.has("pickup") and car.severity > 0.67)),
                ("slows", car.has("pickup") or (car.has("vent") and car.chance(0.1))),
                otherwise="flows",
            ),
            0.05,
            BENCH,
        ),
        "drain": (
            pick(
                ("neither", car.has("empty")),
                ("drain_only", car.has("pickup", "line") and car.worse_than(0.5)),
                otherwise="both",
            ),
            0.05,
            0.3,
        ),
        "isolated": ("blocked" if car.has("line") and car.worse_than(0.48) else "clear", 0.04, 0.15),
        "clear_hose": (
            "bubbles"
            if (car.has("air") and car.worse_than(0.5)) or (car.has("empty") and car.chance(0.8))
            else "none",
            0.06,
            0.15,
        ),
        "dip": ("empty" if car.has("empty") else "fuel", 0.02, 0.05),
    }


def diesel_no_start(car: Car) -> Results:
    """Fuel to the pump, fuel through it, heat to light it."""
    no_fuel = car.has("stop", "injection") or (car.has("air", "filter", "lift") and car.worse_than(0.53))
    starves = (car.has("filter") and car.worse_than(0.6)) or (car.has("lift") and car.chance(0.45))
    return {
        "clear_line": (
            "bubbles"
            if (car.has("air") and car.worse_than(0.5)) or (car.has("lift") and car.chance(0.15))
            else "none",
            0.06,
            0.15,
        ),
        "click": ("none" if car.has("stop") and car.worse_than(0.48) else "clicks", 0.04, 0.05),
        "glow_amps": (
            "low" if (car.has("glow") and car.worse_than(0.48)) or car.chance(0.05) else "right",
            METER,
            0.1,
        ),
        "smoke": (
            "none" if no_fuel or (car.has("water") and car.chance(0.4)) or car.chance(0.04) else "white",
            SIGHT,
            0.05,
        ),
        "primer": (
            pick(
                ("froth", car.has("air") and car.chance(0.6)),
                ("none", starves or (car.has("air") and car.chance(0.6))),
                otherwise="solid",
            ),
            SIGHT,
            0.15,
        ),
        "jar": (
            pick(
                ("water", car.has("water") or (car.has("filter") and car.chance(0.1))),
                ("slime", car.has("filter") and car.chance(0.65)),
                otherwise="clean",
            ),
            0.05,
            0.05,
        ),
        "gravity": (
            "starts"
            if car.has("lift")
            or (car.has("air") and car.chance(0.75))
            or (car.has("water") and car.chance(0.5))
            or (car.has("other") and car.chance(0.3))
            else "no",
            0.05,
            0.1,
        ),
        "unions": ("dry" if no_fuel else "wet", SIGHT, BENCH),
        "lift_volume": (
            "low"
            if (car.has("lift") and car.worse_than(0.49)) or (car.has("air") and car.chance(0.4))
            else "right",
            0.05,
            TOOL,
        ),
        "pressures": (
            "low"
            if (car.has("compression") and car.worse_than(0.49)) or (car.has("slow") and car.chance(0.4))
            else "even",
            0.05,
            0.25,
        ),
        "speed": ("slow" if car.has("slow") else "fast", 0.06, 0.1),
    }


WORLDS: dict[str, Callable[[Car], Results]] = {
    "cranks-not": cranks_not,
    "cranks-no-spark": cranks_no_spark,
    "spark-no-fuel": spark_no_fuel,
    "fuel-and-spark-no-start": will_not_start,
    "starts-then-dies": starts_then_dies,
    "runs-then-dies": runs_then_dies,
    "runs-on-auxiliary-only": auxiliary_only,
    "overheats": overheats,
    "no-charge": no_charge,
    "no-charge-dynamo": no_charge_dynamo,
    "dragging-brake": dragging_brake,
    "soft-pedal": soft_pedal,
    "no-oil-pressure": no_oil_pressure,
    "diesel-no-start": diesel_no_start,
}

# A confirming test as it goes at the bench: how often it holds for the true cause, and seems to for another;
# how often it cannot be done.
CONFIRMS, SEEMS_TO, NO_CONFIRM = 0.96, 0.04, 0.06
