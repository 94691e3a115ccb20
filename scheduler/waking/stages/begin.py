"""R0 to R2: write down what is there, make it safe, open what was shut."""

from scheduler.waking.cited import published
from scheduler.waking.stages import cautions as say
from scheduler.waking.stages.steps import Answer, Check, Stage, stage

BEGIN: tuple[Stage, ...] = (
    stage(
        "R0", "Record before touching", "",
        Check("photographed", "", "Photograph everything before anything is touched or cleaned.",
              "record complete", Answer(("done",), (), ("in part",)), say.WORKSHOP, "camera",
              caution="Do not clean away evidence: papers, tyres, dust lines."),
        Check("why_parked", "", "Find out why it was parked: ask, read papers, look for half-done work.",
              "reason known", Answer(("known",), (), ("unknown",)), say.WORKSHOP,
              causes=("a fault that was never mended",),
              next_action="Unknown: take every system for the reason, until its stage is through."),
        Check("fluids_as_found", "", "Note level and look of every fluid as found.", "record complete",
              Answer(("done",), (), ("in part",)), say.WORKSHOP),
    ),
    stage(
        "R1", "Make safe", "",
        Check("steady", "", "Level ground, ignition off, battery isolated, wheels chocked, stands if raised.",
              "stands safe", Answer(("safe",), ("not safe",)), published("HSE INDG434"),
              hazard="a falling or rolling car", caution=say.RAISED),
        Check("fuel_leak", "", "Smell and look for petrol: under the car, at tank, lines, pump, carburettor.",
              "leak or vapour", Answer(("none",), ("drip", "vapour smell")), say.WORKSHOP,
              conditions="before any power is connected; pits and drains also",
              causes=("perished hose", "split tank", "pump diaphragm"),
              next_action="Out of the building by hand, ventilate, have the leak made good.",
              hazard="fire", caution=say.PETROL,
              qualified="Stop here on any leak or smell in a building: call somebody trained in petrol."),
        Check("droppings", "", "Look for nests and droppings: air cleaner, heater, seats, engine bay.",
              "droppings", Answer(("none", "treated"), ("untreated",)), published("US CDC, seldom-used cars"),
              causes=("rodents",), next_action="Treat, bag, log; then look at the wiring above all.",
              hazard="disease", caution=say.DROPPINGS,
              qualified="A heavy infestation is for a specialist firm."),
        Check("extinguisher", "", "Class B extinguisher in date and within reach.", "ready",
              Answer(("ready",), ("not ready",)), published("OSHA 1910.157(e); NFPA 10")),
    ),
    stage(
        "R2", "Airways and openings", "R1",
        Check("intake_clear", "", "Air cleaner and intake: take out nests, bungs, covers.", "clear",
              Answer(("clear",), ("blocked",)), say.WORKSHOP, causes=("nest", "storage bung"),
              caution=say.DROPPINGS),
        Check("exhaust_clear", "", "Exhaust from tail to manifold: nests, bungs, water.", "clear",
              Answer(("clear",), ("blocked",)), say.WORKSHOP, causes=("nest", "storage bung", "rust")),
        Check("tags_reconciled", "", "Every tag on the car matched with the record and dealt with.",
              "tags", Answer(("none open",), ("open tag",)),
              published("US Army TM 9-2330-235-14&P para 4-70"),
              next_action="Refit, refill or clear what the tag names before going on."),
    ),
)  # fmt: skip
