"""Thirty invented cars that stood, by machine and time: what is built in, what is wrong, what a look shows.

Written from trade practice, apart from the plan's own pass values. A fault sits at one step until somebody
has mended it as often as it needs; what it would do to the car or to a person is known here alone.
"""

from dataclasses import dataclass, field, fields

from scheduler.recommission.stages.acts import Act
from scheduler.recommission.stages.machine import KINDS, Machine

# What a sound car shows at steps that are answered in words.
SOUND = {
    "photographed": "done",
    "why_parked": "known",
    "fluids_as_found": "done",
    "steady": "safe",
    "fuel_leak": "none",
    "droppings": "treated",
    "extinguisher": "ready",
    "structure": "sound",
    "fuel_out": "out, lines capped",
    "vapour": "no smell, 10 % of LEL or less",
    "gas_system": "shut, tight, tank in date",
    "intake_clear": "clear",
    "exhaust_clear": "clear",
    "tags_reconciled": "none open",
    "bores_soaked": "soaked",
    "bores_seen": "clean",
    "hand_turn": "smoothly",
    "valves_move": "all",
    "belts_free": "all free",
    "cam_belt": "new belt and tensioner",
    "sump_water": "oil only",
    "new_oil": "done",
    "frost_seen": "none seen",
    "tinware_clear": "clear",
    "pressure_cap": "holds",
    "loom": "sound",
    "earth_lead": "right",
    "first_power": "none",
    "stop_proven": "opens and shuts",
    "glow_plugs": "alike, none open",
    "tank_line_off": "off and capped",
    "carburettor_clean": "clean",
    "injection_pressure": "by the book, holds",
    "injection_mechanical": "by the book",
    "bled": "none at each",
    "refitted": "all fitted",
    "static_leak": "none",
    "knock_leak_smoke": "clean",
    "temperature": "steady",
    "tank_opened": "clean",
    "fuel_rubber_new": "new",
    "line_on": "joined, dry",
    "line_flow": "flows",
    "wheels_free": "all free and hold",
    "hydraulics_stripped": "overhauled",
    "new_brake_fluid": "new",
    "pedal_hold": "holds",
    "brake_assist": "one left",
    "hydraulic_system": "right fluid, lamp out",
    "brake_hoses": "sound",
    "tyre_condition": "sound",
    "wheel_nuts": "tight, no play",
    "bearings_repacked": "done",
    "steering": "free, no play",
    "steering_power": "even, dry",
    "clutch_release": "releases",
    "gears": "all",
    "automatic_fluid": "between marks, red",
    "throttle_return": "snaps shut",
    "gearbox_oil": "level and clean",
    "brakes_measured": "inside",
    "lamps_horn": "all work",
    "seat_belts": "none fitted, none required",
    "wheels_down": "down, torqued",
    "second_oil": "done",
    "recheck_160_km": "clean",
    "papers": "valid",
    "regime_chosen": "done",
}
SOUND |= dict.fromkeys(("run_private", "run_3_km", "run_16_km", "run_40_km"), "clean")
# What its instruments show, in the steps' own units, whatever the machine.
MEASURED = {
    "coolant_pressure": 0.0,
    "points_closed": 0.2,
    "preoil": 160.0,
    "compression": 93.0,
    "compression_diesel": 89.0,
    "oil_pressure_start": 4.0,
    "oil_pressure_hot": 320.0,
    "vacuum": 61.0,
    "inlet_vacuum": 6.0,
    "fuel_pressure": 24.0,
    "pump_volume": 700.0,
    "pedal_travel": 55.0,
    "brake_water": 0.4,
    "tyre_age": 2.0,
}
# Volts of a sound system: a full battery, under load, at the starter, charging by the generator.
VOLTS = {
    6: {"battery_rest": 6.35, "battery_load": 4.95, "cranking_volts": 4.95, "dynamo": 7.1, "alternator": 7.1},
    12: {
        "battery_rest": 12.7,
        "battery_load": 9.9,
        "cranking_volts": 10.1,
        "dynamo": 14.0,
        "alternator": 14.2,
    },
    24: {
        "battery_rest": 25.4,
        "battery_load": 19.8,
        "cranking_volts": 20.2,
        "dynamo": 28.0,
        "alternator": 28.2,
    },
}
BUILT = {
    "volts": {6: "6 V", 12: "12 V", 24: "24 V"},
    "cam": {"chain": "chain or gears", "belt": "belt"},
    "gas": {False: "no gas", True: "gas fitted"},
    "steering": {False: "unassisted", True: "power"},
    "suspension": {False: "springs", True: "hydropneumatic"},
}
ROAD = ("run_private", "run_3_km", "run_16_km", "run_40_km")


@dataclass(frozen=True)
class Fault:
    """Something wrong that shows at one step. ``harms``: acts and steps that do damage while it is there."""

    step: str
    shows: str | float | None  # None: it cannot be looked at yet
    mends: int = 1  # tries until it is right
    harms: tuple[str, ...] = ()


SEIZED = Fault("hand_turn", "will not turn", 2, (Act.CRANK, Act.RUN))
LEAKS = Fault("fuel_leak", "drip", 1, (Act.POWER, Act.SPARK, Act.CRANK, Act.RUN))
GNAWED = Fault("loom", "gnawed", 1, (Act.POWER, Act.SPARK, Act.CRANK, Act.RUN))
STUCK_VALVE = Fault("valves_move", "one stuck", 2, (Act.CRANK, Act.RUN))
OLD_BELT = Fault("cam_belt", "age unknown", 1, (Act.CRANK, Act.RUN))
NO_OIL = Fault("preoil", 0.0, 1, (Act.RUN,))
CRACKED = Fault("frost_seen", "core plug out", 1, (Act.RUN,))
NEST = Fault("tinware_clear", "nest", 1, (Act.RUN,))
NO_SPARK = Fault("spark", "none", 3, ())
RUNAWAY = Fault("stop_proven", "does not shut", 1, (Act.RUN,))
NEEDLE = Fault("static_leak", "any", 1, (Act.RUN,))
GAS = Fault("gas_system", "valve does not shut", 1, (Act.POWER, Act.SPARK, Act.CRANK, Act.RUN))
PEDAL = Fault("pedal_hold", "sinks", 2, ROAD)
BOUND = Fault("wheels_free", "one binds", 1, ROAD)
HOSES = Fault("brake_hoses", "cracked", 1, ROAD)
SPHERES = Fault("hydraulic_system", "lamp stays on", 1, ROAD)
CORD = Fault("tyre_condition", "cord", 1, ROAD)
STICKS = Fault("throttle_return", "sticks", 1, ROAD)
UNEVEN = Fault("brakes_measured", "axle uneven", 1, ROAD[1:])
VARNISH = Fault("tank_opened", "rust or varnish", 1)
FLAT = Fault("battery_rest", 0.0, 1)  # at nought volts on every system
NO_CHARGE = Fault("charging", 0.0, 1)
BOILS = Fault("temperature", "boils", 2)
NO_GAUGE = Fault("compression", None, 1)
NO_GAUGE_DIESEL = Fault("compression_diesel", None, 1)
GLOW = Fault("glow_plugs", "one open", 1)
AIR = Fault("bled", "bubbles", 3, (Act.RUN,))
BURNT = Fault("automatic_fluid", "burnt", 1, ROAD)
ROTTEN = Fault("structure", "do not raise", 99)  # nobody mends it


@dataclass(frozen=True)
class Stood:
    """One car. ``known``: the parts that its record tells; ``gives_up``: at what cannot be mended."""

    name: str
    years: float
    volts: int = 12
    fuel: str = "petrol"
    feed: str = "carburettor"
    ignition: str = "points"
    generator: str = "dynamo"
    cooling: str = "water"
    gearbox: str = "manual"
    cam: str = "chain"
    gas: bool = False
    steering: bool = False
    suspension: bool = False
    earth: str = "negative"
    known: tuple[str, ...] = ("volts", "fuel", "feed")
    faults: tuple[Fault, ...] = ()
    fuel_days: float | None = None
    put_away: bool = False  # with care, and somebody wrote it down
    mended: dict[str, int] = field(default_factory=dict, compare=False)

    @property
    def build(self) -> Machine:
        """What is really built in."""
        own = {one.name: getattr(self, one.name) for one in fields(Machine)}
        own |= {part: BUILT[part][own[part]] for part in ("cam", "gas", "steering", "suspension")}
        return Machine(**own)

    def recorded(self) -> dict[str, str | int]:
        """What its record tells."""
        return {part: getattr(self.build, part) for part in self.known}

    def answer(self, part: str) -> str:
        """What a look at one part of its build shows."""
        value = getattr(self, part)
        return BUILT[part][value] if part in BUILT else value

    def is_of(self, kind: str) -> bool:
        """Whether it is really of a kind of machine."""
        if not kind:
            return True
        part, wanted = KINDS[kind]
        if self.fuel == "diesel" and part in ("feed", "ignition", "gas"):
            return False
        return wanted is None or getattr(self.build, part) == wanted

    def present(self) -> list[Fault]:
        """The faults that nobody has mended yet."""
        return [one for one in self.faults if self.mended.get(one.step, 0) < one.mends]

    def mend(self, step: str) -> None:
        """Somebody works at what a step found."""
        self.mended[step] = self.mended.get(step, 0) + 1

    def shows(self, step: str) -> str | float | None:
        """What a person finds at a step now."""
        for fault in self.present():
            if fault.step == step:
                return fault.shows
        if step.startswith("is_"):
            return self.answer(step.removeprefix("is_"))
        if step == "spark":
            return "blue" if self.ignition == "points" else "modern ignition, not tested"
        if step in MEASURED:
            return MEASURED[step]
        own = VOLTS[self.volts]
        if step == "charging" or step in own:
            value = own[self.generator if step == "charging" else step]
            return -value if self.earth == "positive" else value
        return SOUND[step]


NOTHING = ()
ALL = tuple(one.name for one in fields(Machine))
CARS = (
    Stood("small saloon", 0.6, fuel_days=120.0, put_away=True, known=ALL),
    Stood("the same, nothing on record", 0.6, known=NOTHING, faults=(FLAT,)),
    Stood("tourer", 4, 6, earth="positive", faults=(NO_SPARK, VARNISH)),
    Stood("tourer in a damp shed", 22, 6, known=NOTHING, faults=(SEIZED, PEDAL, GNAWED, CORD)),
    Stood("light six-volt with alternator", 8, 6, generator="alternator", faults=(NO_CHARGE,)),
    Stood("air-cooled six-volt", 12, 6, cooling="air", faults=(NEST, NEEDLE)),
    Stood("air-cooled, later", 5, cooling="air", generator="alternator", known=NOTHING, faults=(NEST, HOSES)),
    Stood("positive-earth roadster", 15, earth="positive", faults=(NO_SPARK, BOUND, LEAKS)),
    Stood("positive-earth saloon", 2, earth="positive", known=ALL, faults=(FLAT, NO_CHARGE)),
    Stood(
        "coupé with electronic ignition", 3, ignition="electronic", generator="alternator", faults=(BOILS,)
    ),
    Stood("twin cam on a belt", 9, cam="belt", generator="alternator", faults=(OLD_BELT, NO_OIL)),
    Stood("hatchback, belt unknown", 6, cam="belt", known=NOTHING, faults=(OLD_BELT, UNEVEN)),
    Stood(
        "injected saloon",
        4,
        feed="electronic injection",
        ignition="electronic",
        generator="alternator",
        cam="belt",
        steering=True,
        faults=(OLD_BELT, Fault("injection_pressure", "falls", 1)),
    ),
    Stood(
        "injected saloon, nothing on record",
        11,
        feed="electronic injection",
        ignition="electronic",
        generator="alternator",
        known=NOTHING,
        faults=(Fault("injection_pressure", "leak", 1, (Act.RUN,)), CRACKED),
    ),
    Stood(
        "continuous injection",
        7,
        feed="mechanical injection",
        ignition="electronic",
        generator="alternator",
        faults=(Fault("injection_mechanical", "plunger gummed", 2), STICKS),
    ),
    Stood("mechanical injection, racing", 18, feed="mechanical injection", faults=(STUCK_VALVE, NO_GAUGE)),
    Stood("big automatic", 10, gearbox="automatic", steering=True, generator="alternator", faults=(BURNT,)),
    Stood("automatic, nothing on record", 3, gearbox="automatic", known=NOTHING, faults=(BURNT, PEDAL)),
    Stood("limousine", 25, gearbox="automatic", steering=True, faults=(SEIZED, BOILS, VARNISH, HOSES)),
    Stood("on gas", 4, gas=True, generator="alternator", faults=(GAS,)),
    Stood("on gas, nobody knew", 1.5, gas=True, known=NOTHING, faults=(GAS, FLAT)),
    Stood("hydropneumatic saloon", 9, suspension=True, steering=True, faults=(SPHERES, NEEDLE)),
    Stood("hydropneumatic, nothing on record", 2, suspension=True, known=NOTHING, faults=(SPHERES,)),
    Stood("diesel saloon", 5, fuel="diesel", generator="alternator", faults=(GLOW, AIR)),
    Stood("diesel, belt", 3, fuel="diesel", cam="belt", known=NOTHING, faults=(OLD_BELT, RUNAWAY)),
    Stood(
        "diesel lorry", 14, 24, fuel="diesel", generator="alternator", faults=(AIR, NO_GAUGE_DIESEL, BOUND)
    ),
    Stood("diesel lorry, dynamo", 30, 24, fuel="diesel", known=NOTHING, faults=(SEIZED, RUNAWAY, FLAT)),
    Stood("petrol lorry", 21, 24, generator="alternator", faults=(LEAKS, NO_OIL, CRACKED)),
    Stood(
        "prewar tourer", 40, 6, known=NOTHING, faults=(STUCK_VALVE, NO_SPARK, GNAWED, PEDAL, CORD, VARNISH)
    ),
    Stood("rotten", 28, known=NOTHING, faults=(ROTTEN, LEAKS)),
)
