"""Soft pedal; dragging brake. Both keep the car where it stands."""

from scheduler.faults.ignition import LOW, NONE, SOME, SOURCE
from scheduler.faults.model import Cause, Outcome, Probe, Tree
from scheduler.recommission.stages import cautions as say
from scheduler.recommission.stages.chassis import NOT_A_YARD

ON_STANDS = f"{say.RAISED} {say.LININGS}"
LICENSED = f"{NOT_A_YARD} Brake work is for a licensed or experienced hand."

SOFT_PEDAL = Tree(
    "soft-pedal",
    "Soft or sinking pedal",
    (
        Cause("air", "air in the lines", 0.30, "bleed; find where it came in"),
        Cause("master", "master cylinder seals", 0.20, "overhaul or renew"),
        Cause("leak", "wheel cylinder or pipe leaks", 0.15, "overhaul both sides of the axle"),
        Cause("hose", "a hose swells", 0.12, "new hoses in axle sets"),
        Cause("adjustment", "shoes out of adjustment", 0.15, "adjust"),
        Cause("water", "old wet fluid", 0.05, "new fluid throughout"),
        Cause("play", "hub play knocks pads back", 0.05, "bearings"),
    ),
    (
        Probe(
            "pump_pedal",
            "Pump the pedal: how does it come back?",
            2,
            NONE,
            (
                Outcome("firm", "rises and stays firm", "adjustment play air:0.3 hose:0.3"),
                Outcome("sinks", "sinks again", "master leak"),
                Outcome("springy", "stays springy", "*"),
            ),
        ),
        Probe(
            "look_wet",
            "Back-plates, unions, pipes, master cylinder: wet?",
            15,
            LOW,
            (Outcome("wet", "wet", "leak"), Outcome("dry", "dry", "*")),
            ON_STANDS,
        ),
        Probe(
            "hold",
            "Hold the pedal hard for 10 s.",
            1,
            NONE,
            (Outcome("sinks", "sinks", "master leak"), Outcome("holds", "holds", "*")),
        ),
        Probe(
            "watch_hoses",
            "A helper on the pedal: watch and feel every hose.",
            10,
            LOW,
            (Outcome("swells", "one swells", "hose"), Outcome("still", "none", "*")),
            ON_STANDS,
        ),
        Probe(
            "bleed",
            "Bleed every wheel: bubbles?",
            40,
            LOW,
            (Outcome("bubbles", "bubbles, then firm", "air"), Outcome("clean", "none", "*")),
            ON_STANDS,
        ),
        Probe(
            "adjust",
            "Adjust every brake by the handbook.",
            30,
            LOW,
            (Outcome("cured", "pedal is right", "adjustment"), Outcome("same", "no change", "*")),
            ON_STANDS,
        ),
        Probe(
            "rock",
            "Rock each wheel at top and bottom.",
            10,
            LOW,
            (Outcome("play", "play", "play"), Outcome("none", "none", "*")),
            ON_STANDS,
        ),
        Probe(
            "fluid",
            "Water tester in the fluid.",
            3,
            NONE,
            (Outcome("wet", "more than 3 %", "water"), Outcome("dry", "less", "*")),
        ),
    ),
    SOURCE,
    LICENSED,
)

DRAGGING_BRAKE = Tree(
    "dragging-brake",
    "A brake does not let go",
    (
        Cause("cable", "handbrake cable or linkage", 0.20, "free, grease or renew"),
        Cause("hose", "hose closed inside: works as a one-way valve", 0.20, "new hoses in axle sets"),
        Cause("cylinder", "wheel cylinder or caliper piston seized", 0.20, "overhaul both sides of the axle"),
        Cause("shoes", "linings rusted on", 0.20, "free by hand on stands; new linings if torn"),
        Cause("master", "master cylinder does not release", 0.12, "free play; clear the port; overhaul"),
        Cause("spring", "pull-off spring broken or weak", 0.06, "new springs in axle sets"),
    ),
    (
        Probe(
            "which",
            "Turn every wheel by hand, on stands: which drag?",
            20,
            LOW,
            (
                Outcome("one", "one", "cylinder spring hose:0.5 shoes:0.6"),
                Outcome("all", "all", "master"),
                Outcome("pair", "the rear pair", "*"),
            ),
            ON_STANDS,
        ),
        Probe(
            "handbrake",
            "Slacken the handbrake at its adjuster.",
            10,
            LOW,
            (Outcome("frees", "frees", "cable"), Outcome("same", "no change", "*")),
            ON_STANDS,
        ),
        Probe(
            "nipple",
            "Open the bleed nipple of the wheel that drags.",
            10,
            LOW,
            (Outcome("frees", "fluid spurts and it frees", "hose master"), Outcome("same", "no change", "*")),
            ON_STANDS,
        ),
        Probe(
            "union",
            "Open the union above the hose.",
            15,
            LOW,
            (Outcome("frees", "frees", "master"), Outcome("same", "no change", "*")),
            ON_STANDS,
        ),
        Probe(
            "free_play",
            "Free play at the pedal.",
            3,
            NONE,
            (Outcome("none", "none", "master:0.7"), Outcome("play", "play", "*")),
        ),
        Probe(
            "drum_off",
            "Drum or caliper off: look.",
            45,
            SOME,
            (
                Outcome("rusted", "lining rusted on", "shoes"),
                Outcome("piston", "piston does not move", "cylinder"),
                Outcome("spring", "spring broken", "spring"),
                Outcome("nothing", "nothing", "*"),
            ),
            ON_STANDS,
        ),
    ),
    SOURCE,
    LICENSED,
)
