"""Every fault tree, by its symptom."""

from scheduler.faults.model import TREES_FOLDER, Tree, read_tree

# In the order in which a person meets them, from the starter to the road.
FILES = (
    "cranks_not",
    "cranks_no_spark",
    "spark_no_fuel",
    "will_not_start",
    "diesel_no_start",
    "starts_then_dies",
    "runs_then_dies",
    "auxiliary_only",
    "no_oil_pressure",
    "no_charge",
    "no_charge_dynamo",
    "overheats",
    "soft_pedal",
    "dragging_brake",
)
TREES: dict[str, Tree] = {
    tree.symptom: tree
    for tree in (read_tree((TREES_FOLDER / f"{name}.toml").read_text("utf-8")) for name in FILES)
}
