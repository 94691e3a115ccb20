"""R3 to R7: free the engine, its oil and coolant, its wiring, oil pressure, compression."""

from math import inf

from scheduler.units import KPA_PER_PSI
from scheduler.waking.cited import memory, policy, published
from scheduler.waking.stages import cautions as say
from scheduler.waking.stages.steps import Answer, Check, Number, Shift, Stage, stage

TWO_PSI_KPA = 2 * KPA_PER_PSI
# 9.6 V at 21 °C and above down to 8.5 V at -18 °C (car makers' workshop tables), as a shift from 9.6 V.
LOAD_TEST = Shift("temp_c", (-18.0, -12.0, -7.0, -1.0, 4.0, 10.0, 16.0, 21.0),
                  (-1.1, -0.9, -0.7, -0.5, -0.3, -0.2, -0.1, 0.0), 21.0)  # fmt: skip
BATTERY_CASE = "Do not charge or load a frozen, split or leaking battery."

ENGINE: tuple[Stage, ...] = (
    stage(
        "R3", "Engine free", "R1 R2",
        Check("bores_soaked", "",
        "Plugs out, oil in every bore, soak: overnight from 1 year, 1 to 3 days from "
              "3 years, about a week from 10.", "soaked", Answer(("soaked",), ("not soaked",)), say.WORKSHOP,
              from_years=1.0, caution=say.HANDS_CLEAR),
        Check("bores_seen", "", "Look down each bore with a lens.", "bores", Answer(
              ("clean",), ("deep rust", "water"), ("surface rust",)),
              published("Hallam, Thurrowgood & Ogilvie, National Museum of Australia"), "bore lens",
              causes=("damp", "water through the intake", "head gasket"), from_years=3.0,
              next_action="Surface rust: more oil and time. Deep rust or water: head off before turning.",
              qualified="Deep rust or water: stop here, an engine builder decides."),
        Check("hand_turn", "", "Turn by hand spanner two full turns, both ways, plugs out.", "turns",
              Answer(("smoothly",), ("will not turn", "hard stop"), ("tight",)), say.RECALLED, "spanner",
              causes=("rings rusted", "valve stuck", "liquid in a bore", "accessory seized"),
              next_action="Rock gently, soak longer, slacken the belt, free valves; then strip.",
              hazard="bent valves, broken rings",
              caution="Never force it and never use the starter to free it.",
              qualified="Will not turn after a week of soaking: stop here, an engine builder strips it."),
        Check("valves_move", "", "Rocker cover off: see each valve open and close as it is turned by hand.",
              "valves moving", Answer(("all",), ("one stuck",)), say.WORKSHOP, from_years=10.0,
              causes=("gum", "rust on stems"), next_action="Free with penetrating oil; never by the starter.",
              qualified="A valve that stays stuck: stop here, head off by a hand used to it."),
    ),
    stage(
        "R4", "Oil and coolant", "R1",
        Check("sump_water", "", "Loosen the drain plug: let settled water out, look at the oil.",
        "drained oil",
              Answer(("oil only",), ("emulsion", "much water", "smells of petrol"), ("a little water",)),
              say.WORKSHOP, causes=("head gasket", "core plug", "condensation", "pump diaphragm"),
              caution=f"{say.USED_OIL} {say.RAISED}"),
        Check("new_oil", "", "New oil to the handbook's grade and a new filter.", "done",
              Answer(("done",), ("not done",)), say.WORKSHOP, caution=f"{say.USED_OIL} {say.RAISED}"),
        Check("pressure_cap", "",
        "Cap on the tester: it lets go at its rating and holds for a minute (none: answer "
              "none fitted).", "cap", Answer(("holds", "none fitted"), ("leaks", "does not let go")),
              published("US Navy text: releases at its rating, holds a minute"), "pressure tester",
              next_action="Another cap of the same rating.", caution=say.COOLANT),
        Check("coolant_pressure", "",
        "Coolant in; pump the cold system up to the cap's rating, wait 2 minutes.",
              "fall in 2 minutes", Number("kPa", 0.0, 0.0, 0.0, TWO_PSI_KPA), say.CAR_MAKERS,
              "pressure tester", "cold, at the cap's rating",
              causes=("hose", "water pump seal", "core plug", "head gasket"),
              next_action="Find the wet place; falls and nothing wet: head gasket.",
              hazard="scald, poison", caution=say.COOLANT),
    ),
    stage(
        "R5", "Battery, wiring, spark", "R1",
        Check("battery_rest", "",
        "Battery off the car, fully charged, lamps 15 s, wait 5 minutes: read volts.",
              "rest voltage, 12 V", Number("V", 12.6, 13.2, 12.4, 13.6), say.CAR_MAKERS, "voltmeter",
              "surface charge off", causes=("sulphated", "shorted cell", "old"),
              next_action="Charge once more; still low: another battery.", hazard="acid, hydrogen",
              caution=f"{BATTERY_CASE} {say.HYDROGEN}"),
        Check("battery_load", "", "Load at half the cold-cranking current for 15 s.", "volts at 15 s, 12 V",
              Number("V", 9.6, inf, shift=LOAD_TEST), say.CAR_MAKERS, "load tester",
              "rest voltage 12.4 V at least",
              causes=("sulphated", "shorted cell"), next_action="Another battery.",
              hazard="acid, hydrogen", caution=f"{BATTERY_CASE} {say.HYDROGEN}"),
        Check("loom", "", "Whole loom for gnawed or brittle insulation; earths clean and tight.", "loom",
              Answer(("sound",), ("gnawed", "bare wire"), ("brittle",)), say.WORKSHOP,
              causes=("rodents", "age", "heat"), next_action="Mend or renew before power.", hazard="fire",
              qualified="A burnt or much gnawed loom: stop here, call an auto electrician."),
        Check("first_power", "",
        "First connection through a fused lead or a lamp in series, all switches off.",
              "current with all off", Answer(("none",), ("lamp glows", "fuse blows", "hot wire")),
              say.RECALLED,
              "lamp in series", causes=("chafed wire", "stuck relay", "wrong wiring"),
              next_action="Battery off; circuit by circuit.", hazard="fire",
              qualified="A hot wire: stop here, call an auto electrician."),
        Check("points_closed", "", "Closed contact points by ohm meter (none fitted: answer 0).",
              "resistance closed", Number("ohm", 0.0, 0.5, 0.5, 2.0),
              policy("300 ohm seen after one winter; limits are our own choice"), "ohm meter", "ignition off",
              causes=("oxide", "oil"), next_action="Clean or renew, set the gap."),
        Check("spark", "", "Spark from the coil lead across about 6 mm.", "spark", Answer(
              ("blue", "modern ignition, not tested"), ("none",), ("weak",)), say.RECALLED, "spark tester",
              "no petrol vapour about", causes=("points", "condenser", "coil", "cap", "no feed"),
              next_action="Isolate: cranks, no spark.", hazard="shock, fire",
              caution="A spark tester, not your hand; never near petrol vapour."),
    ),
    stage(
        "R6", "Oil pressure before firing", "R3 R4 R5",
        Check("preoil", "", "Drive the pump, use a pressure pot, or crank plugs-out in bursts of 10 s.",
              "oil pressure on a mechanical gauge", Number("kPa", 35.0, inf),
              policy("some pressure must show; 35 kPa (5 psi) is our own floor"),
              "mechanical gauge", "plugs out, fuel and ignition disabled",
              causes=("pump drained", "relief valve stuck", "filter empty"),
              next_action="Prime the pump and try again.", caution=say.HANDS_CLEAR,
              qualified="No pressure after priming: do not fire it; an engine builder looks at the pump."),
        Check("cranking_volts", "", "Volts at the battery while it cranks, plugs out.",
        "cranking voltage, 12 V",
              Number("V", 9.6, inf), memory("the load test's limit, at 21 °C"), "voltmeter",
              "plugs out, fuel and ignition disabled", causes=("battery", "stiff engine", "terminals",
              "starter"),
              next_action="Isolate: does not crank.", caution=say.HANDS_CLEAR),
    ),
    stage(
        "R7", "Compression", "R6",
        Check("compression", "",
        "All plugs out, throttle open, 4 to 5 strokes each; wet test with 15 ml oil.",
              "lowest as share of highest", Number("%", 90.0, 100.0, 75.0, 90.0),
              published("US Army TM 5-4210-230-14&P-1: 75 %; British-era workshop texts: about 10 % apart"),
              "compression tester", "fuel and ignition disabled",
              causes=("better when wet: rings", "no change: valves", "two neighbours low: head gasket"),
              next_action="Soak, free, test again before condemning.", caution=say.HANDS_CLEAR),
    ),
)  # fmt: skip
