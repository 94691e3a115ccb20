"""What standing does to each system of a car: from when, what it looks like, what not to touch.

Onsets are ranges as told by the trade; the causes that hasten them (damp, ethanol, an open tank)
are named, with how much sooner each makes it (policy).
"""

from dataclasses import dataclass

from scheduler.physics.engine.standing_parts import BORES, CLUBS, TRADE
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.units import DAYS_PER_MONTH, DAYS_PER_YEAR

PRACTICE, PUBLISHED, MEMORY = Standing.COMMON_PRACTICE, Standing.PUBLISHED, Standing.FROM_MEMORY
WEEK = 7.0
MONTH, YEAR = DAYS_PER_MONTH, DAYS_PER_YEAR


@dataclass(frozen=True, slots=True)
class System:
    """One system. ``onset``: earliest, likely and latest days. ``hastened_by``: conditions that count.

    ``spared_by``: regimes and storage states that slow it. ``first_look`` and ``do_not`` are told
    to the person at the car. ``by_finds``: told by what is found and by the site, not by days stood.
    """

    name: str
    label: str
    onset: Constant
    state: str
    first_look: str
    do_not: str
    hastened_by: tuple[str, ...] = ()
    spared_by: tuple[str, ...] = ()
    by_finds: bool = False


def _onset(earliest: float, latest: float, source: str, standing: Standing = PRACTICE) -> Constant:
    return Constant((earliest * latest) ** 0.5, "days", source, standing, earliest, latest)


SYSTEMS: tuple[System, ...] = (
    System(
        "battery",
        "Battery",
        _onset(4 * WEEK, 12 * WEEK, "US Army TM 9-6140-200-14 para 4-8, carried on"),
        "flat and sulphated; split if it froze",
        "Rest voltage, then the case for cracks and bulges.",
        "Do not charge or jump a frozen, split or leaking battery; no sparks near it.",
        ("frost",),
        ("maintained",),
    ),
    System(
        "petrol",
        "Petrol",
        _onset(MONTH, 6 * MONTH, TRADE),
        "sour, dark, lighter parts gone",
        "A spoonful in a clear jar: colour, smell, water below.",
        "Do not add fresh fuel to old and crank; do not drain over a pit or near any flame.",
        ("ethanol", "vented tank", "heat"),
        ("fuel drained", "stabilised"),
    ),
    System(
        "carburettor",
        "Carburettor",
        _onset(2 * MONTH, 12 * MONTH, TRADE),
        "gum in jets, needle stuck",
        "Bowl lid off: gum, green salts, float free.",
        "Do not prime and crank before the bowl has been seen: a stuck needle floods and burns.",
        ("ethanol", "damp"),
        ("fuel drained",),
    ),
    System(
        "tank",
        "Fuel tank",
        _onset(YEAR, 3 * YEAR, f"{TRADE}: vented and part full"),
        "rust and varnish inside",
        "Filler open, a cold lamp made for vapour or a lens on a cable; smell.",
        "Do not blow compressed air into it; do not weld or heat it.",
        ("vented tank", "part full", "damp"),
        ("fuel drained", "stabilised"),
    ),
    System(
        "pickup",
        "Pickup and strainer",
        _onset(YEAR, 3 * YEAR, f"{TRADE}; comes back in days"),
        "strainer plugged with gum",
        "Flow by the drain beside flow by the line.",
        "Do not take a line blown clear for a cure.",
        ("vented tank", "part full"),
        ("fuel drained",),
    ),
    System(
        "fuel_rubber",
        "Fuel pump and hoses",
        _onset(2 * YEAR, 5 * YEAR, TRADE),
        "diaphragm hard, hoses cracked; petrol in the oil",
        "Bend every hose; smell the dipstick.",
        "Do not pressurise old hoses: a weep is a fire.",
        ("ethanol", "heat"),
        (),
    ),
    System(
        "brake_hydraulics",
        "Brake cylinders",
        _onset(YEAR, 3 * YEAR, TRADE),
        "water in the fluid, rust rings, seals cut",
        "Back-plates and master cylinder for wet; pedal held.",
        "Do not move it, not even a yard, on brakes that nobody has tested.",
        ("damp",),
        ("exercised",),
    ),
    System(
        "brake_hose",
        "Brake hoses",
        _onset(5 * YEAR, 10 * YEAR, f"{TRADE}: by age", MEMORY),
        "closed from inside: the brake stays on",
        "Twist and bend each; date marks.",
        "Do not clamp an old hose.",
        (),
        (),
    ),
    System(
        "shoes",
        "Brake shoes and handbrake",
        _onset(3 * WEEK, 6 * MONTH, f"{TRADE}: weeks in the damp"),
        "linings rusted to the drums",
        "Each wheel by hand, raised on stands.",
        "Do not pull it free with the engine or a tow; treat lining dust as asbestos.",
        ("damp", "handbrake on"),
        ("exercised",),
    ),
    System(
        "clutch",
        "Clutch",
        _onset(2 * WEEK, 6 * MONTH, CLUBS),
        "plate stuck to the flywheel",
        "Pedal down, in gear, engine off: does it free?",
        "Do not start it in gear: it lurches.",
        ("damp",),
        ("exercised", "clutch propped"),
    ),
    System(
        "cooling",
        "Cooling",
        _onset(2 * YEAR, 4 * YEAR, TRADE),
        "brown coolant, silt, weeping pump",
        "Cold cap off: colour, level, strip test, frost strength.",
        "Never open it hot; coolant is sweet and kills children and pets.",
        ("frost",),
        ("coolant drained",),
    ),
    System(
        "tyres",
        "Tyres",
        _onset(3 * MONTH, 8 * YEAR, "flat spots in weeks to 3 months, age 6 to 10 years"),
        "flat spots, cracks, old rubber",
        "Date codes, sidewalls, inside shoulders.",
        "Do not inflate a tyre that sat flat without a cage or distance; never road-use cord or bulge.",
        ("heat",),
        ("off its wheels", "exercised"),
    ),
    System(
        "oil_seals",
        "Oil seals",
        _onset(3 * MONTH, 2 * YEAR, "US Army TM 9-2330-392-14&P: may leak in or after storage", PUBLISHED),
        "dry lips, first drips on running",
        "Clean card below, marked.",
        "Do not condemn a seal on its first drip.",
        (),
        ("exercised",),
    ),
    System(
        "bores",
        "Bores and rings",
        _onset(3 * MONTH, 2 * YEAR, f"{BORES}: seen after 2 years", PUBLISHED),
        "surface rust, rings stuck",
        "Plugs out, look down each bore with a lens.",
        "Do not crank: oil, soak, look, turn by hand.",
        ("damp", "intake open"),
        ("preserved", "exercised"),
    ),
    System(
        "valves",
        "Valves",
        _onset(YEAR, 3 * YEAR, f"{TRADE}: open valves; fuel gum"),
        "an open valve stuck, rod or valve bent if forced",
        "Rocker cover off, see each valve move by hand.",
        "Do not crank until each valve is seen to move (from 10 years).",
        ("damp",),
        ("preserved", "exercised"),
    ),
    System(
        "points",
        "Contact points",
        _onset(3 * MONTH, 12 * MONTH, f"{TRADE}: one winter"),
        "oxide: no spark or a weak one",
        "Closed points on an ohm meter: near 0.",
        "Do not judge the coil first.",
        ("damp",),
        ("exercised",),
    ),
    System(
        "wiring",
        "Wiring and rodents",
        _onset(WEEK, 6 * WEEK, f"{TRADE}: days to weeks, where they come in"),
        "gnawed insulation, nests, droppings",
        "Loom, air cleaner, heater, under seats.",
        "Do not connect the battery first; do not sweep or vacuum droppings.",
        ("open building",),
        (),
        by_finds=True,
    ),
    System(
        "exhaust",
        "Exhaust",
        _onset(YEAR, 5 * YEAR, f"{TRADE}: water of short runs"),
        "perforated from inside",
        "Tap along it; look for nests at the tail.",
        "Do not run it in a building, door open or not.",
        ("damp", "short runs"),
        ("preserved",),
    ),
    System(
        "trim",
        "Trim",
        _onset(WEEK, 6 * MONTH, f"{TRADE}: days above about 60 % humidity"),
        "mould, moth, split leather",
        "Smell, headlining, under mats.",
        "Do not brush dry mould without a mask; photograph before cleaning.",
        ("damp",),
        ("dry store",),
    ),
    System(
        "sender",
        "Fuel gauge sender",
        _onset(YEAR, 5 * YEAR, TRADE, MEMORY),
        "float stuck: the gauge lies",
        "Dip the tank against the gauge.",
        "Do not trust the gauge on a proving run.",
        ("ethanol",),
        (),
    ),
)

# How much sooner each cause, how much later each care, makes trouble (policy).
HASTENS: dict[str, float] = {
    "damp": 0.5,
    "ethanol": 0.7,
    "vented tank": 0.7,
    "part full": 0.7,
    "heat": 0.7,
    "frost": 0.7,
    "handbrake on": 0.5,
    "intake open": 0.5,
    "open building": 0.5,
    "short runs": 0.5,
}
SPARES: dict[str, float] = {
    "maintained": 40.0,
    "fuel drained": 4.0,
    "stabilised": 2.0,
    "preserved": 4.0,
    "exercised": 3.0,
    "clutch propped": 4.0,
    "coolant drained": 2.0,
    "off its wheels": 4.0,
    "dry store": 10.0,
}
