"""Diesel in the cold: wax clouds it, then blocks the filter.

What happens: below the cloud point wax crystals form; below the cold filter plugging point
(CFPP) they stop the flow through a test sieve. Diesel bought in summer and carried into winter
is the usual case. CFPP does not promise that a vehicle will run: keep a margin.

    red    T_min < CFPP
    amber  T_min < cloud point, or T_min < CFPP + 5 K, where the worst of seven cars failed
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.checks import within
from scheduler.vocabulary.constants import Constant, Standing

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

EN590 = "EN 590 cold filter plugging point classes, as reported"
GREEN, AMBER, RED = 0, 1, 2
VERDICTS = ("flows", "may wax", "does not flow")
# Greatest CFPP, °C, of each class of temperate climates. E and F from memory.
CLASSES_C = {"A": 5.0, "B": 0.0, "C": -5.0, "D": -10.0, "E": -15.0, "F": -20.0}
MARGIN_K = Constant(
    5.0,
    "K",
    "the worst of seven cars failed 5 K above CFPP, the best 8 K below (second-hand)",
    Standing.PUBLISHED,
)
ADDITIVE_K = Constant(
    8.0,
    "K",
    "what a winter additive lowers CFPP by, put in while the fuel is clear",
    Standing.FROM_MEMORY,
    5.0,
    12.0,
)
REPLACED_SHARE = 0.80  # trade: a mixture keeps the worse value until no more than a fifth is old
SUMMER_CFPP_C = Constant(
    CLASSES_C["B"],
    "°C",
    f"{EN590}: summer-bought, A to C, B unless known",
    Standing.POLICY,
    CLASSES_C["C"],
    CLASSES_C["A"],
)
WINTER_CFPP_C = Constant(
    CLASSES_C["E"],
    "°C",
    "winter diesel: United Kingdom −15, Central Europe −20 (cold-flow.eu)",
    Standing.PUBLISHED,
    CLASSES_C["F"],
    CLASSES_C["D"],
)


def cfpp_c(summer_bought: npt.ArrayLike) -> Floats:
    """Assumed CFPP, °C, shape (3, n): safest case first (lowest CFPP), by season bought.

    ``summer_bought`` (n,): whether it is summer fuel.
    """
    summer = np.asarray(summer_bought, bool)
    ranges = np.array([WINTER_CFPP_C.range, SUMMER_CFPP_C.range])
    return np.asarray(ranges[summer.astype(int)].T)


def plugs_after_pouring_c(
    there_c: npt.ArrayLike, fresh_c: npt.ArrayLike, fresh_share: npt.ArrayLike
) -> Floats:
    """CFPP of a mixture, °C: the worse of the two, until four fifths are fresh; shapes broadcast.

    ``fresh_share`` of the volume, 0 to 1; NaN ``there_c``: nothing was there.

    >>> plugs_after_pouring_c(0.0, -15.0, [0.5, 0.85]).tolist()
    [0.0, -15.0]
    """
    fresh = np.asarray(fresh_c, float)
    return np.where(np.asarray(fresh_share, float) >= REPLACED_SHARE, fresh, np.fmax(there_c, fresh))


def verdict(coldest_c: npt.ArrayLike, plugging_c: npt.ArrayLike, cloud_c: npt.ArrayLike = -np.inf) -> Ints:
    """0 green, 1 amber, 2 red, for the coldest the fuel will meet; cloud point where known.

    °C, shapes broadcast. OutOfRange: air beyond -70 to 60, plugging point beyond -60 to 20.
    """
    cold = within("coldest_c", coldest_c, -70.0, 60.0, "°C", EN590)
    plugging = within("plugging_c", plugging_c, -60.0, 20.0, "°C", EN590)
    amber = (cold < plugging + MARGIN_K.value) | (cold < np.asarray(cloud_c, float))
    return np.where(cold < plugging, RED, np.where(amber, AMBER, GREEN)).astype(np.int64)
