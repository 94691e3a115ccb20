"""Does not crank; cranks without a spark; does not charge."""

from scheduler.waking.cited import practice
from scheduler.waking.faults.model import Cause, Danger, Outcome, Probe, Tree
from scheduler.waking.stages import cautions as say
from scheduler.waking.tags import Permission

SOURCE = practice("workshop practice; weights and likelihoods are our own choice")
NONE, LOW, SOME, HIGH = Danger
KEY = "Out of gear, handbrake on, chocked, nobody near fan or belts."

CRANKS_NOT = Tree(
    "cranks-not", "Does not crank",
    (
        Cause("battery", "battery flat or failed", 0.35, "charge and test it, or another battery"),
        Cause("terminals", "terminals dirty or loose", 0.20, "clean, tighten, grease"),
        Cause("seized", "engine seized", 0.08, "back to stage R3: oil, soak, turn by hand"),
        Cause("liquid", "liquid in a cylinder", 0.04, "plugs out, let it out, find where it came from"),
        Cause("solenoid", "solenoid", 0.10, "renew or clean the solenoid"),
        Cause("starter", "starter motor", 0.10, "starter off, brushes and drive"),
        Cause("feed", "switch, inhibitor or wire to the solenoid", 0.10, "trace the feed from the switch"),
        Cause("earth", "engine earth strap", 0.08, "clean or renew the strap"),
    ),
    (
        Probe("rest_volts", "Volts at the battery posts, at rest.", 3, NONE, (
            Outcome("low", "below 12.2 V (12 V system)", "battery"), Outcome("good", "12.4 V or more", "*"))),
        Probe("hand_turn", "Turn the engine by hand, gently, half a turn.", 10, LOW, (
            Outcome("locked", "does not turn", "seized liquid"), Outcome("turns", "turns", "*")),
            say.HANDS_CLEAR),
        Probe("lamps", "Headlamps on, key to start: watch them.", 2, LOW, (
            Outcome("dim", "go dim or out", "battery terminals earth seized liquid starter:0.5"),
            Outcome("bright", "stay bright", "*")), KEY, Permission.CRANK),
        Probe("clamp_drop", "Volts from post to clamp while the key is held.", 5, LOW, (
            Outcome("high", "more than 0.2 V", "terminals"), Outcome("low", "less", "*")),
            KEY, Permission.CRANK),
        Probe("earth_drop", "Volts from battery negative to the engine while the key is held.", 5, LOW, (
            Outcome("high", "more than 0.3 V", "earth"), Outcome("low", "less", "*")), KEY, Permission.CRANK),
        Probe("solenoid_feed", "Lamp at the small terminal of the solenoid, key to start.", 10, LOW, (
            Outcome("dark", "dark", "feed"), Outcome("lit", "lit", "*")), KEY, Permission.CRANK),
        Probe("solenoid_out", "Volts at the motor side of the solenoid, key to start.", 10, SOME, (
            Outcome("none", "nothing", "solenoid feed"), Outcome("volts", "volts", "*")),
            KEY, Permission.CRANK),
        Probe("plugs_out", "All plugs out, turn by hand: what comes?", 25, SOME, (
            Outcome("liquid", "liquid comes, and it turns", "liquid"), Outcome("locked", "still locked",
            "seized"),
            Outcome("turns", "turns, dry", "*")), f"{say.HANDS_CLEAR} {say.PETROL}"),
    ),
    SOURCE, "Never use the starter or a tow to free an engine.",
)  # fmt: skip

CRANKS_NO_SPARK = Tree(
    "cranks-no-spark", "Cranks, no spark",
    (
        Cause("points", "points oxidised or closed up", 0.35, "clean or renew, set the gap"),
        Cause("condenser", "condenser", 0.10, "renew"),
        Cause("coil", "coil", 0.10, "renew"),
        Cause("cap", "cap, rotor or lead", 0.12, "clean or renew"),
        Cause("feed", "no feed to the coil: switch, fuse, wire", 0.15, "trace the feed"),
        Cause("earthed", "low-tension wire earthed in the distributor", 0.08, "insulate or renew the wire"),
        Cause("plugs", "plugs fouled", 0.10, "clean or renew the plugs"),
    ),
    (
        Probe("plug_spark", "Spark tester at a plug lead, cranking.", 5, LOW, (
            Outcome("spark", "good spark", "plugs"), Outcome("none", "none or weak", "*")),
            say.PETROL, Permission.CRANK),
        Probe("coil_spark", "Spark tester at the coil lead, cranking.", 5, LOW, (
            Outcome("spark", "good spark", "cap plugs"), Outcome("none", "none or weak", "*")),
            say.PETROL, Permission.CRANK),
        Probe("coil_feed", "Volts at the coil's feed, ignition on, points closed.", 3, NONE, (
            Outcome("none", "nothing", "feed"), Outcome("volts", "volts", "*"))),
        Probe("points_ohm", "Ohms across closed points, ignition off.", 5, NONE, (
            Outcome("high", "more than 2 ohm", "points"), Outcome("low", "near 0", "*"))),
        Probe("coil_minus", "Volts at the coil's points side while it is turned by hand.", 8, NONE, (
            Outcome("stays_low", "always 0", "feed earthed"), Outcome("stays_high", "never falls", "points"),
            Outcome("toggles", "up and down", "*")), say.HANDS_CLEAR),
        Probe("coil_ohm", "Ohms of both coil windings against the handbook.", 8, NONE, (
            Outcome("wrong", "outside", "coil"), Outcome("right", "inside", "*"))),
        Probe("condenser_swap", "Another condenser, known good.", 15, NONE, (
            Outcome("cured", "spark is back", "condenser"), Outcome("same", "no change", "*")), say.PETROL,
            Permission.CRANK),
        Probe("cap_look", "Cap and rotor in good light: tracks, cracks, damp.", 3, NONE, (
            Outcome("track", "track or crack", "cap:0.7"), Outcome("clean", "clean", "*"))),
    ),
    SOURCE, "A coil bites: a tester, never a hand. No petrol vapour about.",
)  # fmt: skip

NO_CHARGE = Tree(
    "no-charge", "Does not charge",
    (
        Cause("belt", "belt slack or glazed", 0.20, "set or renew the belt"),
        Cause("regulator", "regulator", 0.20, "clean, set or renew"),
        Cause("brushes", "brushes worn or stuck", 0.20, "free or renew"),
        Cause("cable", "output cable or its joints", 0.15, "clean and tighten, renew"),
        Cause("earth", "generator or engine earth", 0.10, "clean and tighten"),
        Cause("lamp", "warning lamp blown: no excitation", 0.10, "new bulb"),
        Cause("windings", "windings or rectifier", 0.08, "rebuild or exchange"),
    ),
    (
        Probe("belt_look", "Engine off: press the belt, look at its faces.", 2, LOW, (
            Outcome("slack", "slack or shining", "belt"), Outcome("tight", "tight and dull", "*")),
            say.HANDS_CLEAR),
        Probe("lamp_lit", "Ignition on, engine off: is the charge lamp lit?", 1, NONE, (
            Outcome("dark", "dark", "lamp brushes:0.5"), Outcome("lit", "lit", "*"))),
        Probe("bulb", "Another bulb in the charge lamp.", 10, NONE, (
            Outcome("lights", "now it lights and charges", "lamp"), Outcome("same", "no change", "*"))),
        Probe("cable_drop", "Running, lamps on: volts from generator output to battery positive.", 5, SOME, (
            Outcome("high", "more than 0.5 V", "cable"), Outcome("low", "less", "*")),
            f"{say.CO} {say.TURNING}", Permission.RUN),
        Probe("earth_drop", "Running, lamps on: volts from generator case to battery negative.", 5, SOME, (
            Outcome("high", "more than 0.2 V", "earth"), Outcome("low", "less", "*")),
            f"{say.CO} {say.TURNING}", Permission.RUN),
        Probe("full_field", "Bypass the regulator for a moment as the handbook says.", 15, SOME, (
            Outcome("charges", "charges", "regulator lamp"), Outcome("nothing", "nothing", "*")),
            f"Moments only: voltage runs away. {say.CO}", Permission.RUN),
        Probe("brush_look", "Brushes out: length, freedom.", 25, NONE, (
            Outcome("worn", "worn or stuck", "brushes"), Outcome("good", "good", "*"))),
        Probe("bench", "Generator on the bench.", 60, LOW, (
            Outcome("fails", "fails", "brushes windings"), Outcome("good", "good", "*"))),
    ),
    SOURCE, say.HYDROGEN,
)  # fmt: skip
