"""R8 to R10: fresh fuel from an auxiliary supply, the first run, and only then the car's own tank."""

from math import inf

from scheduler.units import KPA_PER_PSI
from scheduler.waking.cited import memory, practice, published
from scheduler.waking.stages import cautions as say
from scheduler.waking.stages.measures import KPA_PER_INHG, ML_PER_US_PINT
from scheduler.waking.stages.steps import Answer, Check, Number, Shift, Stage, stage

METRES_PER_1000_FT = 304.8
# One inch of mercury less for each 1000 ft (US Army OD1001), here up to 3000 m.
ALTITUDE = Shift("altitude_m", (0.0, 3000.0), (0.0, -3000.0 / METRES_PER_1000_FT * KPA_PER_INHG), 0.0)
RULE_OF_THUMB_KPA = 20.0 * KPA_PER_PSI  # 10 psi for each 1000 rpm, at 2000
AUXILIARY = "An approved can outside the cabin, away from heat; never fresh fuel into an old tank."

RUNNING: tuple[Stage, ...] = (
    stage(
        "R8", "Fuel from an auxiliary supply", "R1",
        Check("tank_line_off", "", "Disconnect the tank line and cap it; tag it.", "line",
              Answer(("off and capped",), ("still connected",)), say.WORKSHOP, hazard="fire",
              caution=say.PETROL),
        Check("carburettor_clean", "", "Carburettor opened and cleaned; float, needle and level right.",
              "carburettor", Answer(("clean",), ("needle stuck", "not opened")), say.WORKSHOP, from_years=1.0,
              causes=("gum", "float holed"), next_action="Strip, clean, new needle.", caution=say.PETROL),
        Check("static_leak", "", "Fresh fuel from the auxiliary supply; wait 10 minutes, dry everywhere.",
              "leak in 10 minutes", Answer(("none",), ("any",)), memory("10 minutes"),
              causes=("needle stuck", "hose", "gasket"), next_action="Make good and wait again.",
              hazard="fire", caution=f"{AUXILIARY} {say.PETROL}"),
    ),
    stage(
        "R9", "First run", "R3 R4 R5 R6 R7 R8",
        Check("oil_pressure_start", "",
        "Start, watch the oil gauge first; shut off at once if nothing shows.",
              "seconds until oil pressure shows", Number("s", 0.0, 10.0), memory("10 s"), "mechanical gauge",
              "outdoors or exhaust drawn off, extinguisher manned", causes=("pump", "relief valve",
              "bearings"),
              next_action="Shut off; back to R6.", hazard="seizure, carbon monoxide, fire",
              caution=f"{say.CO} {say.TURNING}"),
        Check("knock_leak_smoke", "", "Listen and look all round for knock, leaks, smoking wires, boiling.",
              "run", Answer(("clean",), ("knock", "fuel leak", "wiring smoke", "boils"), ("oil drip",)),
              published("engine makers: shut off at once"), causes=("bearings", "sticking valve", "wiring"),
              next_action="Shut off at once.", hazard="fire, scald", caution=say.CO,
              qualified="Knock or smoke from wiring: stop here, call a hand used to it."),
        Check("oil_pressure_hot", "", "Hot, at 2000 rpm: oil pressure.", "oil pressure, hot, 2000 rpm",
              Number("kPa", inf, inf, RULE_OF_THUMB_KPA, inf),
              practice("rule of thumb, 10 psi for each 1000 rpm: a popular page only; the handbook decides"),
              "mechanical gauge", "warm", causes=("worn bearings", "thin oil", "relief valve")),
        Check("charging", "", "Warm, 1500 to 2000 rpm: volts at the battery.", "charging voltage, 12 V",
              Number("V", 13.8, 14.7, 13.2, 15.0), practice("makers and college notes; higher when cold"),
              "voltmeter", "warm", causes=("regulator", "belt", "brushes", "earth"), hazard="hydrogen",
              next_action="Isolate: no charge.", caution=say.HYDROGEN),
        Check("vacuum", "", "Warm idle: manifold vacuum.", "vacuum, steady", Number(
              "kPa", 15 * KPA_PER_INHG, 22 * KPA_PER_INHG, 12 * KPA_PER_INHG, 22 * KPA_PER_INHG, ALTITUDE),
              published("US Army OD1001, vacuum readings"), "vacuum gauge", "warm idle, altitude noted",
              causes=("12 to 16 inHg steady: rings or timing", "3 to 9: intake leak",
              "flicks: valve sticks")),
        Check("temperature", "", "Coolant rises and holds; fan side and hoses warm evenly.", "temperature",
              Answer(("steady",), ("boils", "keeps rising"), ("does not warm",)), say.WORKSHOP,
              causes=("thermostat", "silt", "pump", "gasket"), next_action="Isolate: overheats.",
              caution=say.COOLANT),
    ),
    stage(
        "R10", "Tank side", "R9",
        Check("tank_opened", "",
        "Tank drained by a retriever and opened or taken out; cleaned; new strainer.",
              "tank inside", Answer(("clean",), ("rust or varnish", "not opened")), say.WORKSHOP,
              from_years=3.0, causes=("rust", "varnish", "water"),
              next_action="Clean or replace; cold repair only.", hazard="fire, explosion",
              caution=f"{say.DRAINING} {say.NO_AIR} {say.NO_HOT_WORK}",
              qualified="No retriever or no training: stop here, a licensed firm drains it."),
        Check("fuel_rubber_new", "", "All fuel hoses new, pump diaphragm new or tested.", "fuel rubber",
              Answer(("new",), ("old",)), say.WORKSHOP, from_years=3.0, hazard="fire", caution=say.PETROL),
        Check("line_flow", "", "How the line from the tank flows, and how it was made to.", "line",
              Answer(("flows", "flows after clearing"), ("blocked",)),
              practice("a cleared line blocks again"),
              causes=("pickup", "strainer", "line", "vent"), temporary=("flows after clearing",),
              temporary_until="tank_opened",
              next_action="Isolate: runs on an auxiliary supply only.", caution=f"{say.PETROL} {say.NO_AIR}"),
        Check("inlet_vacuum", "", "Running on its own tank: vacuum at the pump inlet.", "inlet vacuum",
              Number("kPa", 0.0, 3.75 * KPA_PER_INHG), published("one pump maker, 1993: 3.75 inHg"),
              "vacuum gauge", "running", causes=("line", "strainer", "pickup", "vent")),
        Check("fuel_pressure", "", "Gauge at the carburettor, idling on its own tank.", "fuel pressure",
              Number("kPa", inf, inf, 1.5 * KPA_PER_PSI, 7.25 * KPA_PER_PSI),
              published("makers and a British textbook: 1.5 to 7.25 psi, by car; the handbook decides"),
              "pressure gauge", "idling", causes=("pump", "wrong pump: floods"), hazard="fire",
              caution=say.PETROL),
        Check("pump_volume", "", "Pump outlet into a measured can for 30 s.", "volume in 30 s",
              Number("ml", ML_PER_US_PINT, inf), published("pump makers: a US pint (473 ml) in 30 s"),
              "measuring can",
              causes=("pump", "inlet air leak"), hazard="fire", caution=say.PETROL),
    ),
)  # fmt: skip
