"""Spark but no fuel; runs on an auxiliary supply only; runs, then dies."""

from scheduler.waking.cited import practice, published
from scheduler.waking.faults.ignition import HIGH, LOW, SOME, SOURCE
from scheduler.waking.faults.model import Cause, Outcome, Probe, Tree
from scheduler.waking.stages import cautions as say
from scheduler.waking.tags import Permission

PUMP_TESTS = published("fuel pump makers' manuals: swap in an auxiliary supply, then vacuum by sections")
HOT_FUEL = f"{say.PETROL} {say.CO}"
CLEARED = "open and clean the tank, new strainer; a line blown clear is not a cure"

SPARK_NO_FUEL = Tree(
    "spark-no-fuel", "Spark, but no fuel",
    (
        Cause("empty", "tank empty, gauge lies", 0.15, "fuel; then mend the sender"),
        Cause("pump", "pump dead", 0.25, "new diaphragm or pump; look for petrol in the oil"),
        Cause("line", "line or pickup blocked", 0.15, CLEARED),
        Cause("vent", "cap or tank vent blocked", 0.08, "clear or renew the vent"),
        Cause("needle", "float needle stuck shut", 0.12, "carburettor lid off, clean or renew"),
        Cause("jets", "jets gummed", 0.15, "strip and clean the carburettor"),
        Cause("air", "air drawn in before the pump", 0.10, "new hose and unions"),
    ),
    (
        Probe("dip", "Dip the tank.", 3, LOW, (
            Outcome("empty", "empty", "empty"), Outcome("fuel", "fuel", "*")), say.PETROL),
        Probe("bowl", "Work the throttle, engine off: does the carburettor squirt, is the bowl full?",
        5, LOW, (
            Outcome("full", "fuel there", "jets"), Outcome("dry", "dry", "*")), say.PETROL),
        Probe("outlet", "Pump outlet into a can, working the pump by hand lever.", 10, SOME, (
            Outcome("flows", "flows", "needle jets"), Outcome("none", "none or spits", "*")), say.PETROL),
        Probe("pump_auxiliary", "Auxiliary can on the pump's inlet: flow at its outlet?", 15, SOME, (
            Outcome("none", "none", "pump"), Outcome("flows", "flows", "*")), say.PETROL),
        Probe("cap_loose", "Filler cap loose, try again.", 5, LOW, (
            Outcome("cured", "cured", "vent"), Outcome("same", "no change", "*")), say.PETROL),
        Probe("clear_hose", "Clear hose at the pump's inlet: bubbles?", 10, SOME, (
            Outcome("bubbles", "bubbles", "air empty"), Outcome("none", "no bubbles, or nothing moves", "*")),
            say.PETROL),
        Probe("siphon", "Line off below tank level, cap off, into a can.", 15, HIGH, (
            Outcome("dry", "will not run", "line empty"), Outcome("flows", "runs", "*")),
            f"{say.PETROL} {say.DRAINING}"),
    ),
    SOURCE, say.PETROL,
)  # fmt: skip

AUXILIARY_ONLY = Tree(
    "runs-on-auxiliary-only", "Runs on an auxiliary supply only",
    (
        Cause("pump", "pump weak", 0.20, "new diaphragm or pump"),
        Cause("outlet", "pipe or filter after the pump", 0.05, "new filter, clear pipe"),
        Cause("vent", "cap or tank vent blocked", 0.12, "clear or renew the vent"),
        Cause("pickup", "pickup or strainer in the tank", 0.30, CLEARED),
        Cause("line", "line to the tank blocked or flattened", 0.15, "clear or renew; then open the tank"),
        Cause("air", "air drawn in before the pump", 0.12, "new hose and unions; look for a cracked pickup"),
        Cause("empty", "tank empty, gauge lies", 0.06, "fuel; then mend the sender"),
    ),
    (
        Probe("pump_auxiliary", "Auxiliary can on the pump's inlet: pressure and volume at its outlet.",
        20, SOME, (
            Outcome("fails", "below the pump's values", "pump outlet"), Outcome("passes", "passes", "*")),
            HOT_FUEL, Permission.RUN),
        Probe("cap_loose", "Tank back on, filler cap loose.", 5, LOW, (
            Outcome("cured", "cured", "vent"), Outcome("same", "no change", "*")), HOT_FUEL, Permission.RUN),
        Probe("inlet_vacuum", "Vacuum gauge teed in at the pump's inlet, running.", 15, SOME, (
            Outcome("high", "more than about 3.75 inHg (one maker, 1993)", "pickup line vent"),
            Outcome("low", "low, poor flow", "*")), HOT_FUEL, Permission.RUN),
        Probe("deadhead", "Gauge straight on the pump's inlet.", 15, SOME, (
            Outcome("weak", "less than 11 to 15 inHg (two makers)", "pump"), Outcome("good", "that or more",
            "*")),
            HOT_FUEL, Permission.CRANK),
        Probe("sections", "Gauge at each joint, towards the tank.", 40, SOME, (
            Outcome("lost", "a pipe or hose leaks or is blocked", "line air"),
            Outcome("good", "all good as far as the tank", "*")), HOT_FUEL, Permission.CRANK),
        Probe("siphon", "Line off below tank level, cap off, into a can.", 15, HIGH, (
            Outcome("dry", "will not run", "pickup:0.6 line empty"),
            Outcome("slows", "runs, then slows", "pickup:0.4"), Outcome("flows", "runs freely", "*")),
            f"{say.PETROL} {say.DRAINING}"),
        Probe("drain", "Tank drain tap beside the line.", 20, HIGH, (
            Outcome("drain_only", "drain runs, line does not", "pickup line"),
            Outcome("neither", "neither", "empty"), Outcome("both", "both run", "*")),
            f"{say.PETROL} {say.DRAINING}"),
        Probe("clear_hose", "Clear hose at the pump's inlet: bubbles?", 10, SOME, (
            Outcome("bubbles", "bubbles", "air empty"), Outcome("none", "none", "*")),
            HOT_FUEL, Permission.CRANK),
        Probe("dip", "Dip the tank beside the gauge.", 3, LOW, (
            Outcome("empty", "empty", "empty"), Outcome("fuel", "fuel", "*")), say.PETROL),
    ),
    PUMP_TESTS, f"{say.PETROL} {say.NO_AIR}",
)  # fmt: skip

RUNS_THEN_DIES = Tree(
    "runs-then-dies", "Runs, then dies, and recovers after a rest",
    (
        Cause("vent", "cap or tank vent blocked", 0.20, "clear or renew the vent"),
        Cause("pickup", "debris on the strainer", 0.25, CLEARED),
        Cause("coil", "coil fails hot", 0.20, "renew"),
        Cause("condenser", "condenser fails hot", 0.10, "renew"),
        Cause("needle", "float needle or level", 0.10, "clean, new needle, set the level"),
        Cause("vapour", "fuel boils in pump or line",
        0.10, "heat shield, route the line, fresh fuel of the season"),
        Cause("water", "water in the fuel", 0.10, "drain and clean tank and bowl"),
    ),
    (
        Probe("spark_dead", "At the moment it dies: spark tester at the coil lead.", 5, SOME, (
            Outcome("none", "no spark", "coil condenser"), Outcome("spark", "spark", "*")),
            HOT_FUEL, Permission.RUN),
        Probe("bowl_dead", "At the moment it dies: is the bowl full?", 8, SOME, (
            Outcome("full", "full", "coil condenser water"), Outcome("low", "low or dry", "*")),
            HOT_FUEL, Permission.RUN),
        Probe("auxiliary", "Run it on the auxiliary supply at the carburettor.", 20, SOME, (
            Outcome("dies", "dies as well", "coil condenser needle"), Outcome("runs", "runs on", "*")),
            HOT_FUEL, Permission.RUN),
        Probe("cap_loose", "Run it with the filler cap loose.", 15, LOW, (
            Outcome("cured", "runs on", "vent"), Outcome("same", "dies", "*")), HOT_FUEL, Permission.RUN),
        Probe("jar", "Fuel from the bowl into a clear jar; wait.", 10, SOME, (
            Outcome("water", "water below", "water"), Outcome("clean", "clean", "*")), say.PETROL),
        Probe("wet_rag", "When it dies, a wet rag on pump and line.", 5, SOME, (
            Outcome("recovers", "starts at once", "vapour"), Outcome("same", "no change", "*")),
            HOT_FUEL, Permission.RUN),
        Probe("inlet_vacuum", "Vacuum gauge at the pump's inlet, running.", 15, SOME, (
            Outcome("high", "rises as it dies", "pickup vent"), Outcome("low", "stays low", "*")),
            HOT_FUEL, Permission.RUN),
        Probe("condenser_swap", "Another condenser, known good; run it hot.", 25, LOW, (
            Outcome("cured", "runs on", "condenser"), Outcome("same", "dies", "*")), say.CO, Permission.RUN),
    ),
    practice("magazine columns and workshop practice; weights are our own choice"), HOT_FUEL,
)  # fmt: skip
