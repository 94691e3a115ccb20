"""Oils, coolant and brake fluid; the core knows each by its place in the list.

The types of a fluid, with their constants, stand in ``FLUID_KINDS`` of the core; one without types
there is asked for without. A fluid that falls due has a duty of the same code.
"""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Fluid:
    """``takes_glycol``: its share of glycol is asked for. ``by_looks``: the trade judges it by a look.

    Words of tables, parted by strokes: ``type_also`` and ``changed_also`` are headings of a car's record,
    ``change_words`` say in a care log that it was changed.
    """

    code: str
    title: str
    takes_glycol: bool = False
    by_looks: bool = False
    type_also: str = ""
    changed_also: str = ""
    change_words: str = ""


FLUIDS = (
    Fluid(
        code="engine_oil",
        title="Engine oil",
        by_looks=True,
        type_also="oil type|engine oil|oil|oil grade",
        changed_also=(
            "oil change|oil changed|last oil change|engine oil changed|oil changed on|date of oil change"
        ),
        change_words="oil change|oil changed|engine oil changed|oil and filter",
    ),
    Fluid(
        code="coolant",
        title="Coolant",
        takes_glycol=True,
        type_also="coolant|antifreeze|antifreeze type",
        changed_also="coolant changed|antifreeze changed|coolant change|antifreeze date|coolant date",
        change_words="coolant change|coolant changed|antifreeze changed",
    ),
    Fluid(
        code="brake_fluid",
        title="Brake fluid",
        type_also="brake fluid|brake fluid type|dot",
        changed_also="brake fluid changed|brake fluid change|brakes bled|brake fluid date",
        change_words="brake fluid|brake fluid change|brake fluid changed|bled brakes",
    ),
    Fluid(
        code="gearbox_oil",
        title="Gearbox oil",
        by_looks=True,
        type_also="gearbox oil|transmission fluid",
        changed_also="gearbox oil changed|transmission oil changed|gear oil changed",
        change_words="gearbox oil|gearbox oil changed|gearbox oil change",
    ),
    Fluid(
        code="axle_oil",
        title="Axle oil",
        by_looks=True,
        type_also="axle oil|diff oil",
        changed_also="axle oil changed|diff oil changed|differential oil changed",
        change_words="axle oil|diff oil|axle oil changed|diff oil changed",
    ),
)
FLUID = {row.code: row for row in FLUIDS}
