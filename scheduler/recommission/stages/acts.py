"""What a test or a step does to the car: six acts, each with the cautions that go with it.

An act asks for its own grounds and no others: turning by hand is not cranking, cranking with the plugs out
and the fuel isolated is not starting, and a spark made by hand needs no starter. So no fault withholds the
permission that its own search needs.
"""

from enum import StrEnum

from scheduler.recommission.stages import cautions as say


class Act(StrEnum):
    """What is done, from looking to running."""

    LOOK = "look"
    HAND = "hand"
    POWER = "power"
    SPARK = "spark"
    CRANK = "crank"
    RUN = "run"

    @property
    def label(self) -> str:
        """Words for people."""
        return ACT_LABELS[self]

    @property
    def caution(self) -> str:
        """What to mind whenever it is done; nothing for looking."""
        return ACT_CAUTIONS[self]


ALL_ACTS = frozenset(Act)
ACT_LABELS = {
    Act.LOOK: "look and measure, battery off",
    Act.HAND: "turn the engine by hand",
    Act.POWER: "ignition on, fused, starter wire off",
    Act.SPARK: "make a spark by hand, engine standing",
    Act.CRANK: "use the starter in bursts",
    Act.RUN: "start and run the engine",
}
ACT_CAUTIONS = {
    Act.LOOK: "",
    Act.HAND: f"By spanner, two turns at most, out of gear; stop at the first hard point. {say.HANDS_CLEAR}",
    Act.POWER: "Fused at 10 A or less; no petrol smell; with points closed a minute at most: the coil heats.",
    Act.SPARK: (
        "Engine standing. No petrol vapour by nose and meter, plugs in or their holes stopped; "
        "tester clamped to "
        "the block, half a metre from bowl, tank breather and plug holes. A coil bites: never by hand."
    ),
    Act.CRANK: (
        "Out of gear, handbrake on, chocked; fuel isolated; nobody near fan or belts; bursts of 10 s "
        "at most, the "
        "key held 3 s at most where it does not turn."
    ),
    Act.RUN: f"Extinguisher manned. {say.CO} {say.TURNING}",
}
