"""The fluids of a car: engine oils, coolants, brake fluids, gearbox and axle oils.

One flat table for all five, since a car's fluid code is a position in it; each fluid has its own
"unknown" row, with the values that are on the safe side. Brake fluid limits are the minimums of
the grade, not of a product; a product's own data always comes first.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput

Ints = npt.NDArray[np.int64]

FMVSS_116 = "49 CFR 571.116 (FMVSS 116), S5.1.1 and S5.1.2"
EXTENDED_LIFE_SURVEY = "US Army CCDC GVSC, market survey of extended-life coolants, DTIC AD1112055"


@dataclass(frozen=True, slots=True)
class FluidKind:
    """One kind of one fluid; ``None`` where a property has no meaning for it."""

    name: str
    label: str
    fluid: str  # which of a car's five fluids
    inhibitor_months: Constant | None = None  # coolant: how long its rust inhibitor lasts
    glycol: str = ""  # coolant: "ethylene", "propylene", "either" (not known) or "" (none)
    dry_boil_c: Constant | None = None  # brake fluid: least boiling point as new
    wet_boil_c: Constant | None = None  # the same after the humidifying test
    takes_water: bool = False  # brake fluid: dissolves water from the air
    stays_in: bool = False  # preservative oil: not drained while the engine is preserved
    fitted: bool = True  # False: the car is built without this fluid


def _coolant(name: str, label: str, glycol: str, life: Constant) -> FluidKind:
    return FluidKind(name, label, "coolant", inhibitor_months=life, glycol=glycol)


def _brake(name: str, label: str, dry_c: float, wet_c: float, *, takes_water: bool = True) -> FluidKind:
    dry, wet = (Constant(value, "°C", FMVSS_116, Standing.PUBLISHED) for value in (dry_c, wet_c))
    return FluidKind(name, label, "brake_fluid", dry_boil_c=dry, wet_boil_c=wet, takes_water=takes_water)


INORGANIC_LIFE = Constant(
    24,
    "months",
    f"{EXTENDED_LIFE_SURVEY}: 2 years, re-inhibited every 6 months; trade texts to 3 to 5",
    Standing.PUBLISHED,
    24,
    36,
)
ORGANIC_LIFE = Constant(
    60,
    "months",
    f"{EXTENDED_LIFE_SURVEY}: 5 years or 150,000 miles; one maker's first fill 10",
    Standing.PUBLISHED,
    48,
    120,
)
HYBRID_LIFE = Constant(60, "months", "trade figure, commonly 5 years", Standing.FROM_MEMORY, 36, 60)
WATER_LIFE = Constant(
    6,
    "months",
    "re-inhibiting interval of conventional coolant taken for water with inhibitor",
    Standing.POLICY,
    3,
    12,
)
UNKNOWN_LIFE = Constant(
    24, "months", "an unknown coolant is taken for the shortest-lived technology", Standing.POLICY, 6, 36
)

FLUID_KINDS: tuple[FluidKind, ...] = (
    FluidKind("oil_mineral", "mineral engine oil", "engine_oil"),
    FluidKind("oil_synthetic", "synthetic engine oil", "engine_oil"),
    FluidKind("oil_preservative", "preservative engine oil (MIL-PRF-21260)", "engine_oil", stays_in=True),
    FluidKind("oil_unknown", "engine oil, kind unknown", "engine_oil"),
    _coolant("eg_inorganic", "ethylene glycol, conventional inhibitor", "ethylene", INORGANIC_LIFE),
    _coolant("eg_organic", "ethylene glycol, organic acid (OAT)", "ethylene", ORGANIC_LIFE),
    _coolant("eg_hybrid", "ethylene glycol, hybrid (HOAT, Si-OAT)", "ethylene", HYBRID_LIFE),
    _coolant("pg_inorganic", "propylene glycol, conventional inhibitor", "propylene", INORGANIC_LIFE),
    _coolant("pg_organic", "propylene glycol, organic acid (OAT)", "propylene", ORGANIC_LIFE),
    _coolant("water_inhibited", "water with inhibitor, no glycol", "", WATER_LIFE),
    FluidKind("coolant_none", "none: the engine is cooled by air", "coolant", fitted=False),
    _coolant("coolant_unknown", "coolant, kind unknown", "either", UNKNOWN_LIFE),
    _brake("dot_3", "DOT 3 glycol", 205, 140),
    _brake("dot_4", "DOT 4 glycol", 230, 155),
    _brake("dot_5", "DOT 5 silicone", 260, 180, takes_water=False),
    _brake("dot_5_1", "DOT 5.1 glycol", 260, 180),
    FluidKind("brake_none", "none: brakes worked by cable or rod", "brake_fluid", fitted=False),
    _brake("brake_unknown", "brake fluid, kind unknown", 205, 140),
    FluidKind("gearbox_gear_oil", "gear oil", "gearbox_oil"),
    FluidKind("gearbox_engine_oil", "engine oil in the gearbox", "gearbox_oil"),
    FluidKind("gearbox_automatic", "automatic transmission fluid", "gearbox_oil"),
    FluidKind("gearbox_none", "none of its own: shares another oil", "gearbox_oil", fitted=False),
    FluidKind("gearbox_unknown", "gearbox oil, kind unknown", "gearbox_oil"),
    FluidKind("axle_hypoid", "hypoid axle oil", "axle_oil"),
    FluidKind("axle_limited_slip", "limited-slip axle oil", "axle_oil"),
    FluidKind("axle_none", "none of its own, or driven by chain", "axle_oil", fitted=False),
    FluidKind("axle_unknown", "axle oil, kind unknown", "axle_oil"),
)

POSITION = {kind.name: position for position, kind in enumerate(FLUID_KINDS)}
_OF = {  # which rows are kinds of a fluid
    fluid: np.array([kind.fluid == fluid for kind in FLUID_KINDS])
    for fluid in {kind.fluid for kind in FLUID_KINDS}
}
UNKNOWN_OF = {kind.fluid: POSITION[kind.name] for kind in FLUID_KINDS if kind.name.endswith("_unknown")}


def known_kinds(fluid: str, codes: npt.ArrayLike) -> Ints:
    """Positions in ``FLUID_KINDS`` for one fluid's ``codes`` (shape (n,)); -1 gives its unknown row.

    BadInput: a code that is not a kind of this fluid.
    """
    codes = np.asarray(codes, np.int64)
    codes = np.where(codes == -1, UNKNOWN_OF[fluid], codes)
    if ((codes < 0) | (codes >= len(FLUID_KINDS))).any() or not _OF[fluid][codes].all():
        raise BadInput("fluid_type", f"a code is not a kind of {fluid}")
    return codes
