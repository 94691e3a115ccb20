"""Hours and parts of the work that recommissioning always asks for, and where it repairs what needs it.

Every figure is our own choice for a small car of simple build; parts are multiplied by the organisation's own
factor, repairs stand in ``scheduler.condition.remedies``.
"""

from dataclasses import dataclass

from scheduler.condition.remedies import NOTHING, Triple
from scheduler.recommission.stages.plan import Dormancy
from scheduler.vocabulary.constants import Constant, Standing

BASIS = "a small car of simple build"


@dataclass(frozen=True, slots=True)
class Work:
    """One piece of work that is always done at a stage; ``covers``: parts whose repair it takes in."""

    key: str
    stage: str
    label: str
    hours: Constant
    parts: Constant
    from_years: float = 0.0
    covers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RepairedAt:
    """Where the plan repairs a part; ``proved_by``: the check that proves it good or bad, where one does."""

    stage: str
    proved_by: str = ""


def _range(values: Triple, unit: str) -> Constant:
    low, likely, high = values
    return Constant(likely, unit, BASIS, Standing.POLICY, low, high)


def _always(
    key: str,
    stage: str,
    label: str,
    hours: Triple,
    parts: Triple,
    from_years: float = 0.0,
    covers: tuple[str, ...] = (),
) -> Work:
    return Work(key, stage, label, _range(hours, "h"), _range(parts, "money"), from_years, covers)


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
        "tank_out",
        "R10",
        "Tank out, cleaned, strainer, all fuel rubber",
        (4, 8, 16),
        (80, 200, 600),
        3.0,
        ("tank", "pickup", "fuel_rubber"),
    ),
    _always("brakes", "R11", "Every brake freed, looked at, tested, new fluid", (2, 4, 6), (20, 30, 60)),
    _always(
        "overhaul",
        "R11",
        "Cylinders and hoses, both axles",
        (4, 8, 14),
        (150, 300, 700),
        3.0,
        ("brake_hydraulics", "brake_hose"),
    ),
    _always("wheels", "R12", "Tyres, bearings, steering looked at", (1, 1.5, 3), (0, 10, 40)),
    _always("repack", "R12", "Wheel bearings repacked", (2, 3, 5), (20, 40, 120), 10.0),
    _always("drive", "R13", "Clutch, gears, throttle, gear oils", (0.5, 1.5, 3), (20, 50, 90)),
    _always("before_road", "R13a", "Brakes measured, lamps, belts, exhaust", (0.7, 1.2, 2), (18, 36, 72)),
    _always("proving", "R14", "Proving runs with inspection between", (2, 4, 8), (10, 30, 60)),
    _always("settle", "R15", "Second oil, recheck, papers, care set up", (1.5, 2.5, 4), (60, 100, 200)),
)

REPAIRED_AT: dict[str, RepairedAt] = {
    "battery": RepairedAt("R5", "battery_load"),
    "wiring": RepairedAt("R5", "loom"),
    "points": RepairedAt("R5b", "spark"),
    "bores": RepairedAt("R7", "hand_turn"),
    "valves": RepairedAt("R7", "compression"),
    "carburettor": RepairedAt("R8", "carburettor_clean"),
    "cooling": RepairedAt("R9", "coolant_pressure"),
    "fuel_rubber": RepairedAt("R10", "pump_volume"),
    "tank": RepairedAt("R10"),
    "pickup": RepairedAt("R10"),
    "sender": RepairedAt("R10"),
    "shoes": RepairedAt("R11", "wheels_free"),
    "brake_hydraulics": RepairedAt("R11"),
    "brake_hose": RepairedAt("R11"),
    "tyres": RepairedAt("R12", "tyre_condition"),
    "clutch": RepairedAt("R13", "clutch_release"),
    "exhaust": RepairedAt("R15", "recheck_160_km"),
    "oil_seals": RepairedAt("R15"),
    "trim": RepairedAt("R15"),
}

# Which check proves a system good or bad.
PROVED_BY: dict[str, str] = {part: at.proved_by for part, at in REPAIRED_AT.items() if at.proved_by}

# Days that oil soaks in the bores while nobody works, by how long it stood (workshop practice).
SOAK_DAYS: dict[Dormancy, Triple] = {
    Dormancy.UP_TO_1: NOTHING,
    Dormancy.FROM_1: (1, 1, 2),
    Dormancy.FROM_3: (1, 2, 3),
    Dormancy.FROM_10: (5, 7, 14),
    Dormancy.FROM_20: (7, 7, 21),
}
