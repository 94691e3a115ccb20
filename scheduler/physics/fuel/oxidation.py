"""How fuel ages by oxidation: gum and varnish, from time and temperature.

What happens: oxygen dissolved in the fuel makes peroxides and then gum, which sticks valves and
plugs jets. Each 10 K doubles the rate: opened petrol keeps 6 months at 20 °C and 3 at 30 °C.
An antioxidant slows what is still to come; it cannot undo gum that is there.

    rate(T)   = Q10^((T − 20)/10)            days of age at 20 °C per day
    age       = ∫ rate(T) dt                 the rate is averaged, never the temperature
    life used = ∫ rate(T) / L20 dt           stale at 1; L20 is the life at 20 °C

A treated tank's L20 is longer from the treatment on, so the share already used stays used and
only the remaining (1 − f) is stretched. Nothing lasts beyond the calendar cap, however cold.
Induction minutes of the bomb test (ASTM D525) are not months: its own scope says that the
correlation with gum in storage "may vary markedly".
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.checks import within
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.units import DAYS_PER_MONTH

Floats = npt.NDArray[np.float64]

STORAGE_SHEET = "BP Australia, fact sheet 'A guide to storing fuel': 6 months at 20 °C, 3 months at 30 °C"
STORAGE_RULES = "Chevron, Recommended Storage Practices: stabiliser works only in fresh petrol"
CLAIMS = "stabiliser makers' claims of 12 to 24 months, as reported by the press; no independent figure"
REFERENCE_C = 20.0  # the temperature at which the storage sheet states its lives

Q10 = Constant(2.0, "1", STORAGE_SHEET, Standing.PUBLISHED, 1.95, 2.0)
# How much longer a treated tank lasts than the same tank untreated.
TREATED_CLOSED = Constant(2.0, "1", CLAIMS, Standing.POLICY, 1.0, 2.0)
TREATED_VENTED = Constant(1.5, "1", CLAIMS, Standing.POLICY, 1.0, 2.0)
# In a vented tank under a quarter full, air and warmth reach all of it.
NEARLY_EMPTY_SHARE = Constant(0.25, "1", "vented and under a quarter full", Standing.POLICY)
NEARLY_EMPTY_MONTHS = Constant(
    1.0,
    "months",
    "BP Australia, 'A guide to storing fuel': 1 month in a vented equipment tank",
    Standing.PUBLISHED,
    0.75,
    2.0,
)
CALENDAR_CAP_MONTHS = Constant(
    24.0,
    "months",
    "ČSN 65 6500:2011 as reported by auto.cz, Jan 2018: 24 months sealed, dark, 10 to 20 °C",
    Standing.PUBLISHED,
)
_COLDEST_C, _HOTTEST_C = -60.0, 70.0  # beyond any tank; the rule itself was read between 20 and 30 °C


def ageing_rate(temp_c: npt.ArrayLike) -> Floats:
    """Days of age at 20 °C gained in a day at ``temp_c`` (-60 to 70 °C), any shape; OutOfRange beyond.

    >>> float(ageing_rate(30.0))  # twice as fast as at 20 °C
    2.0
    """
    temp = within("temp_c", temp_c, _COLDEST_C, _HOTTEST_C, "°C", STORAGE_SHEET)
    return np.asarray(Q10.value ** ((temp - REFERENCE_C) / 10.0))


def life_days(
    life_months: npt.ArrayLike, fill_share: npt.ArrayLike, vented: npt.ArrayLike, treated_share: npt.ArrayLike
) -> Floats:
    """Life at 20 °C in days, shape (3, n) short, likely, long, of tanks as they stand.

    ``life_months`` (3, n) is the untreated life of the fuel in this venting; ``fill_share``,
    ``vented`` and ``treated_share`` are (n,). A part-treated tank gains in proportion.
    OutOfRange: a treated share beyond 0 to 1.

    >>> life_days([[4.0], [6.0], [9.0]], [0.9], [False], [0.0]).round().ravel().tolist()
    [122.0, 183.0, 274.0]
    """
    life = np.asarray(life_months, float)
    vented = np.asarray(vented, bool)
    treated = within("treated_share", treated_share, 0, 1, "", STORAGE_RULES)
    nearly_empty = vented & (np.asarray(fill_share, float) < NEARLY_EMPTY_SHARE.value)
    life = np.where(nearly_empty, np.minimum(life, _column(NEARLY_EMPTY_MONTHS)), life)
    gain = np.where(vented, _column(TREATED_VENTED), _column(TREATED_CLOSED)) - 1.0
    stretched = np.minimum(life * (1.0 + gain * treated), np.maximum(life, CALENDAR_CAP_MONTHS.value))
    return np.asarray(stretched * DAYS_PER_MONTH)


def _column(constant: Constant) -> Floats:
    return np.array(constant.range)[:, None]
