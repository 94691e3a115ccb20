"""Every fault tree, by its symptom."""

from scheduler.faults.brakes import DRAGGING_BRAKE, SOFT_PEDAL
from scheduler.faults.engine import NO_OIL_PRESSURE, OVERHEATS
from scheduler.faults.fuel import AUXILIARY_ONLY, RUNS_THEN_DIES, SPARK_NO_FUEL
from scheduler.faults.ignition import CRANKS_NO_SPARK, CRANKS_NOT, NO_CHARGE
from scheduler.faults.model import Tree

TREES: dict[str, Tree] = {
    tree.symptom: tree
    for tree in (
        CRANKS_NOT,
        CRANKS_NO_SPARK,
        SPARK_NO_FUEL,
        AUXILIARY_ONLY,
        RUNS_THEN_DIES,
        NO_OIL_PRESSURE,
        NO_CHARGE,
        OVERHEATS,
        SOFT_PEDAL,
        DRAGGING_BRAKE,
    )
}
