"""No oil pressure; overheats."""

from scheduler.waking.faults.ignition import LOW, NONE, SOME, SOURCE
from scheduler.waking.faults.model import Cause, Outcome, Probe, Tree
from scheduler.waking.stages import cautions as say
from scheduler.waking.tags import Permission

PLUGS_OUT = f"Plugs out, fuel and ignition disabled: it must not fire. {say.HANDS_CLEAR}"

NO_OIL_PRESSURE = Tree(
    "no-oil-pressure", "No oil pressure",
    (
        Cause("gauge", "gauge, sender or its pipe", 0.25, "mechanical gauge, new sender or pipe"),
        Cause("low", "oil low", 0.15, "fill; find where it went"),
        Cause("thin", "petrol in the oil", 0.10, "new oil; pump diaphragm and float needle"),
        Cause("strainer", "strainer blocked with sludge", 0.12, "sump off, clean"),
        Cause("drained", "pump drained while standing", 0.18, "prime the pump"),
        Cause("relief", "relief valve stuck open", 0.12, "out, clean, new spring"),
        Cause("bearings", "bearings worn", 0.08, "engine out"),
    ),
    (
        Probe("dipstick", "Dipstick: level, smell, feel.", 2, NONE, (
            Outcome("low", "below the mark", "low"), Outcome("thin", "thin, smells of petrol", "thin"),
            Outcome("right", "right", "*")), say.PETROL),
        Probe("mechanical", "Mechanical gauge in place of the sender; crank plugs-out in bursts.", 20, LOW, (
            Outcome("pressure", "pressure shows", "gauge"), Outcome("none", "none", "*")),
            PLUGS_OUT),
        Probe("filter_flow", "Filter off, crank plugs-out: does oil come?", 15, LOW, (
            Outcome("none", "none", "drained strainer low"), Outcome("flows", "comes", "*")), PLUGS_OUT),
        Probe("prime", "Prime the pump, crank plugs-out again.", 25, LOW, (
            Outcome("comes", "pressure comes", "drained"), Outcome("none", "still none", "*")), PLUGS_OUT),
        Probe("relief_out", "Relief valve out: free, clean, spring whole?", 25, NONE, (
            Outcome("stuck", "stuck or broken", "relief"), Outcome("free", "free", "*"))),
        Probe("sump_off", "Sump off: strainer and sludge.", 180, SOME, (
            Outcome("blocked", "blocked", "strainer"), Outcome("clear", "clear", "*")), say.RAISED),
        Probe("clearance", "A bearing cap off: clearance by plastic strip.", 120, SOME, (
            Outcome("worn", "over the limit", "bearings"), Outcome("good", "inside", "*")), say.RAISED),
    ),
    SOURCE, "Shut off at once; it does not run again until pressure shows on a mechanical gauge.",
)  # fmt: skip

OVERHEATS = Tree(
    "overheats", "Overheats",
    (
        Cause("gauge", "gauge or sender lies", 0.10, "new sender, check the gauge"),
        Cause("thermostat", "thermostat stuck shut", 0.20, "renew"),
        Cause("silt", "radiator silted", 0.25, "back-flush, or have it cleaned"),
        Cause("pump", "water pump", 0.12, "rebuild or renew"),
        Cause("belt", "belt slips", 0.10, "set or renew"),
        Cause("timing", "ignition late or mixture weak", 0.10, "set timing and mixture"),
        Cause("gasket", "head gasket", 0.10, "head off"),
        Cause("low", "coolant low or air locked", 0.13, "fill and bleed; find the leak"),
    ),
    (
        Probe("level", "Cold: cap off, level.", 3, NONE, (
            Outcome("low", "low", "low gasket:0.6"), Outcome("full", "full", "*")), say.COOLANT),
        Probe("belt_look", "Engine off: press the belt, look at its faces.", 2, LOW, (
            Outcome("slack", "slack or shining", "belt"), Outcome("tight", "tight", "*")), say.HANDS_CLEAR),
        Probe("thermometer", "Infrared thermometer at the thermostat housing, beside the gauge.", 10, SOME, (
            Outcome("cool", "not hot: the gauge lies", "gauge"), Outcome("hot", "hot", "*")),
            say.CO, Permission.RUN),
        Probe("top_hose", "Top hose as it warms.", 10, SOME, (
            Outcome("cold", "stays cold while the head is hot", "thermostat pump:0.3"),
            Outcome("warm", "warms", "*")), f"{say.CO} {say.TURNING}", Permission.RUN),
        Probe("flow", "From cold, cap off, until warm: does the coolant move?", 15, SOME, (
            Outcome("still", "does not move", "pump thermostat belt"), Outcome("moves", "moves", "*")),
            f"{say.COOLANT} {say.CO}", Permission.RUN),
        Probe("pan", "Thermostat out, in a pan of hot water with a thermometer.", 40, LOW, (
            Outcome("shut", "does not open", "thermostat"), Outcome("opens", "opens at its mark", "*")),
            say.COOLANT),
        Probe("patches", "Radiator by infrared thermometer: cold patches?", 10, SOME, (
            Outcome("patches", "patches", "silt"), Outcome("even", "even", "*")), say.CO, Permission.RUN),
        Probe("gas", "Combustion-gas test of the coolant.", 15, SOME, (
            Outcome("gas", "gas", "gasket"), Outcome("none", "none", "*")), f"{say.COOLANT} {say.CO}",
            Permission.RUN),
        Probe("timing_lamp", "Timing lamp, plug colour.", 20, SOME, (
            Outcome("wrong", "late or weak", "timing"), Outcome("right", "right", "*")),
            f"{say.CO} {say.TURNING}", Permission.RUN),
    ),
    SOURCE, say.COOLANT,
)  # fmt: skip
