"""Hours and parts of the work that recommissioning asks for: what is always done, and what trouble adds.

Every figure is our own choice for a small car of simple build, meant to be replaced by the
organisation's own; money is in the organisation's currency.
"""

from dataclasses import dataclass

from scheduler.recommission.stages.plan import Dormancy
from scheduler.vocabulary.constants import Constant, Standing

BASIS = "a small car of simple build; put your own figures in"
Triple = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Work:
    """One piece of work at a stage. ``system``: only if that system is in trouble; "" is always done.

    ``proved_by``: the check whose pass makes a repair needless and whose stop makes it certain.
    """

    key: str
    stage: str
    label: str
    hours: Constant
    parts: Constant
    from_years: float = 0.0
    system: str = ""
    proved_by: str = ""


def _range(values: Triple, unit: str) -> Constant:
    low, likely, high = values
    return Constant(likely, unit, BASIS, Standing.POLICY, low, high)


def _always(key: str, stage: str, label: str, hours: Triple, parts: Triple, from_years: float = 0.0) -> Work:
    return Work(key, stage, label, _range(hours, "h"), _range(parts, "money"), from_years)


def _repair(stage: str, label: str, hours: Triple, parts: Triple, system: str, proved_by: str) -> Work:
    return Work(
        f"mend_{system}", stage, label, _range(hours, "h"), _range(parts, "money"), 0.0, system, proved_by
    )


NOTHING: Triple = (0.0, 0.0, 0.0)
WORK: tuple[Work, ...] = (
    _always("record", "R0", "Photographs, papers, fluids as found", (0.5, 1, 3), NOTHING),
    _always("safe", "R1", "Ventilate, isolate, chock, look for leaks and nests", (0.5, 1, 2), (0, 10, 30)),
    _always("airways", "R2", "Clear intake and exhaust, reconcile tags", (0.3, 0.5, 2), (0, 10, 30)),
    _always("free", "R3", "Plugs out, oil, look, turn by hand", (1, 2, 4), (10, 20, 40)),
    _always("rockers", "R3", "Rocker cover off, valves seen to move", (0.5, 1, 2), (5, 15, 30), 10.0),
    _always("fluids", "R4", "Oil, filter, coolant, pressure test", (1, 2, 3), (50, 80, 140)),
    _always("electrics", "R5", "Battery test, loom, first power", (0.8, 1.6, 3.2), (0, 10, 40)),
    _always("spark", "R5b", "Spark by hand, or the diesel's stop", (0.2, 0.4, 0.8), NOTHING),
    _always("preoil", "R6", "Prime and prove oil pressure", (0.5, 1, 2), (0, 0, 20)),
    _always("compression", "R7", "Compression, dry and wet", (0.5, 1, 1.5), NOTHING),
    _always("auxiliary", "R8", "Auxiliary supply, leak test", (0.5, 1, 1.5), (10, 20, 40)),
    _always("first_run", "R9", "First run with every reading", (1, 2, 4), (0, 10, 30)),
    _always("tank_side", "R10", "Own pump and line proved", (0.5, 1, 3), (0, 20, 50)),
    _always(
        "tank_out", "R10", "Tank out, cleaned, strainer, all fuel rubber", (4, 8, 16), (80, 200, 600), 3.0
    ),
    _always("brakes", "R11", "Every brake freed, looked at, tested, new fluid", (2, 4, 6), (20, 30, 60)),
    _always("overhaul", "R11", "Cylinders and hoses, both axles", (4, 8, 14), (150, 300, 700), 3.0),
    _always("wheels", "R12", "Tyres, bearings, steering looked at", (1, 1.5, 3), (0, 10, 40)),
    _always("repack", "R12", "Wheel bearings repacked", (2, 3, 5), (20, 40, 120), 10.0),
    _always("drive", "R13", "Clutch, gears, throttle, gear oils", (0.5, 1.5, 3), (20, 50, 90)),
    _always("before_road", "R13a", "Brakes measured, lamps, belts, exhaust", (0.7, 1.2, 2), (18, 36, 72)),
    _always("proving", "R14", "Proving runs with inspection between", (2, 4, 8), (10, 30, 60)),
    _always("settle", "R15", "Second oil, recheck, papers, care set up", (1.5, 2.5, 4), (60, 100, 200)),
    _repair("R5", "Another battery", (0.2, 0.3, 0.5), (60, 100, 180), "battery", "battery_load"),
    _repair("R5b", "Points, condenser, cap, leads", (0.5, 1, 2), (20, 50, 120), "points", "spark"),
    _repair("R5", "Loom mended or renewed", (1, 4, 20), (10, 60, 600), "wiring", "loom"),
    _repair("R7", "Head off: valves", (8, 14, 24), (100, 250, 700), "valves", "compression"),
    _repair("R7", "Bores and rings: engine apart", (25, 40, 80), (400, 1200, 3500), "bores", "hand_turn"),
    _repair(
        "R8",
        "Carburettor stripped and cleaned",
        (1.5, 3, 6),
        (20, 60, 200),
        "carburettor",
        "carburettor_clean",
    ),
    _repair(
        "R9",
        "Pump seal, hoses, thermostat, radiator flushed",
        (2, 4, 8),
        (50, 150, 500),
        "cooling",
        "coolant_pressure",
    ),
    _repair("R10", "Fuel pump and hoses", (1, 2, 4), (40, 100, 250), "fuel_rubber", "pump_volume"),
    _repair("R11", "Shoes, handbrake cable", (1.5, 3, 5), (40, 100, 250), "shoes", "wheels_free"),
    _repair("R12", "Set of tyres", (1, 2, 3), (200, 350, 800), "tyres", "tyre_condition"),
    _repair("R13", "Clutch freed, or gearbox out", (0.5, 3, 16), (0, 60, 350), "clutch", "clutch_release"),
    _repair("R15", "Exhaust", (1, 2, 4), (80, 200, 600), "exhaust", "recheck_160_km"),
)

# Which check proves a system good or bad.
PROVED_BY: dict[str, str] = {work.system: work.proved_by for work in WORK if work.system}

# Days that oil soaks in the bores while nobody works, by how long it stood (workshop practice).
SOAK_DAYS: dict[Dormancy, Triple] = {
    Dormancy.UP_TO_1: NOTHING,
    Dormancy.FROM_1: (1, 1, 2),
    Dormancy.FROM_3: (1, 2, 3),
    Dormancy.FROM_10: (5, 7, 14),
    Dormancy.FROM_20: (7, 7, 21),
}
