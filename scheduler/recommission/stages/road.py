"""R14 and R15: proving runs in growing steps, then settle, sign and set up its care."""

from scheduler.recommission.stages import cautions as say
from scheduler.recommission.stages.steps import Answer, Check, Number, Stage, stage
from scheduler.vocabulary.cited import memory, practice

SOUND = Answer(("clean",), ("hot hub", "leak", "pulls", "pressure falls"), ("small drip",))
RECOVERY = "Extinguisher on board, recovery arranged, somebody following."
CAUSES = ("dragging brake", "loosened debris", "bearing")


def _run(key: str, do: str) -> Check:
    return Check(
        key,
        "",
        do,
        "hubs, leaks, straight stop, pressures",
        SOUND,
        practice("a sleeper of about ten years failed at 50 miles on its way home: magazine"),
        "hand, gauge, eyes",
        "inspect after every step",
        CAUSES,
        "Mend and repeat this step.",
        "breakdown in traffic",
        RECOVERY,
    )


ROAD: tuple[Stage, ...] = (
    stage(
        "R14",
        "Proving runs",
        "R9 R10 R11 R12 R13 R13a",
        Check(
            "tyre_age",
            "",
            "Age of the oldest tyre from its code.",
            "age",
            Number("years", 0.0, 6.0, 6.0, 10.0),
            practice("6 and 10 years: advice, not law"),
            "date code",
            next_action="Over 10 years: it may be moved, and is not for the road.",
        ),
        _run("run_private", "Private ground, walking pace, brakes first."),
        _run("run_3_km", "Papers valid, or private ground: up to 3 km (2 miles), then look it over."),
        _run("run_16_km", "Up to 16 km (10 miles), then look it over."),
        _run("run_40_km", "Up to 40 km (25 miles), then look it over."),
    ),
    stage(
        "R15",
        "Settle and release",
        "R14",
        Check(
            "second_oil",
            "",
            "Oil and filter again after a few hours' running; fuel filter too.",
            "done",
            Answer(("done",), ("not done",)),
            practice("press"),
            caution=say.USED_OIL,
        ),
        Check(
            "recheck_160_km",
            "",
            "All fluids, nuts, brakes and leaks again at 160 km (100 miles).",
            "recheck",
            Answer(("clean",), ("fault",)),
            memory("100 miles"),
        ),
        Check(
            "papers",
            "",
            "Inspection, registration and insurance valid for the road where it stands.",
            "papers",
            Answer(("valid",), ("missing",)),
            say.WORKSHOP,
            caution=say.LOCAL,
        ),
        Check(
            "regime_chosen",
            "",
            "Regime chosen, baseline readings taken, duties started.",
            "care set up",
            Answer(("done",), ("not done",)),
            say.WORKSHOP,
            next_action="Exercised or preserved: write it down, with every reading as a baseline.",
        ),
    ),
)
