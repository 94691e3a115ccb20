"""Damp: how much of the time air is moist enough for rust and mould.

What happens: bare steel rusts while a film of water stands on it, in practice above about 80 %
relative humidity and above freezing (the time of wetness); mould needs weeks above 75 % or several
days above 80 % at the surface. Below 50 % cleaned and preserved machinery keeps indefinitely.
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.checks import within
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

ISO_9223 = "ISO 9223"
WET_ABOVE_RH_PCT = Constant(80.0, "%", f"{ISO_9223}: time of wetness", Standing.PUBLISHED)
WET_ABOVE_C = Constant(0.0, "°C", f"{ISO_9223}: time of wetness", Standing.PUBLISHED)
# Upper bounds of classes 1 to 4 in hours a year (ISO 9223:1992; the last from memory, unverified).
WETNESS_CLASS_HOURS = np.array([10.0, 250.0, 2500.0, 5500.0])

DAMP_RH_PCT = Constant(
    75.0,
    "%",
    "Canadian Conservation Institute, Michalski, Agent of deterioration: incorrect humidity",
    Standing.PUBLISHED,
)
MOULD_RH_PCT = Constant(80.0, "%", "BS 5250 Annex D: at a surface, several days", Standing.PUBLISHED)
MOULD_ABOVE_C = Constant(5.0, "°C", "mould hardly grows colder", Standing.FROM_MEMORY)
SEVERAL_DAYS = Constant(3.0, "days", "several days", Standing.POLICY)
WEEKS_DAYS = Constant(14.0, "days", "weeks above 75 %: Padfield, citing Ayerst 1969", Standing.POLICY)

# Bands of sustained humidity and what they ask for (policy, on the sources above).
RH_BANDS = ("dry: leather and wood may split", "good", "watch", "act within a day", "damp", "wet")
RH_BAND_LIMITS_PCT = np.array([35.0, 60.0, 65.0, 75.0, 80.0])
DAMP_SPREAD_PCT, THAWED_OVER_K = 5.0, 2.0  # policy: what is half damp, half frozen


def _same_length(rh_pct: npt.ArrayLike, temp_c: npt.ArrayLike) -> tuple[Floats, Floats]:
    rh = within("rh_pct", rh_pct, 0.0, 100.0, "%", "relative humidity")
    temp = np.asarray(temp_c, float)
    if rh.shape != temp.shape or rh.size == 0:
        raise BadInput("rh_pct", "needs one value for every temperature, one at least")
    if np.any(np.isnan(temp)):
        raise BadInput("temp_c", "is not a number")
    return rh, temp


def wet_hours(temp_c: npt.ArrayLike, rh_pct: npt.ArrayLike) -> Bools:
    """Which hours count as wet: above 80 % and above 0 °C; shape (h,)."""
    rh, temp = _same_length(rh_pct, temp_c)
    return (rh > WET_ABOVE_RH_PCT.value) & (temp > WET_ABOVE_C.value)


def wetness_class(hours_per_year: npt.ArrayLike) -> Ints:
    """Class 1 to 5 of a yearly time of wetness in hours (0 or more), any shape; BadInput below nought."""
    hours = np.asarray(hours_per_year, float)
    if np.any(~(hours >= 0)):
        raise BadInput("hours_per_year", "must be zero or above")
    return np.asarray(np.digitize(hours, WETNESS_CLASS_HOURS, right=True) + 1)


def dampness(temp_c: npt.ArrayLike, rh_pct: npt.ArrayLike, above_pct: float = DAMP_RH_PCT.value) -> Floats:
    """How damp each day was, 0 to 1, from daily means, shape (d,): no cliff at the line, and none in frost.

    Half damp at ``above_pct``, from dry 5 % below it to wholly damp 5 % above; a frozen day is not damp, one
    of 2 °C and more wholly.

    >>> dampness([5, 5, -1, 5, 1], [80, 70, 90, 76, 90]).round(2).tolist()
    [1.0, 0.0, 0.0, 0.6, 0.5]
    """
    rh, temp = _same_length(rh_pct, temp_c)
    by_air = np.clip((rh - above_pct) / (2.0 * DAMP_SPREAD_PCT) + 0.5, 0.0, 1.0)
    return np.asarray(by_air * np.clip((temp - WET_ABOVE_C.value) / THAWED_OVER_K, 0.0, 1.0))


def longest_spell(flags: npt.ArrayLike) -> int:
    """The longest unbroken run of true days, shape (d,)."""
    flags = np.asarray(flags, bool)
    count = np.cumsum(flags)
    before = np.maximum.accumulate(np.where(flags, 0, count))
    return int(np.max(count - before, initial=0))


def mould_likely(temp_c: npt.ArrayLike, surface_rh_pct: npt.ArrayLike) -> bool:
    """Whether daily humidity at a surface, shape (d,), stayed high and mild long enough to grow mould.

    >>> mould_likely([12] * 14, [78] * 14)
    True
    """
    rh, temp = _same_length(surface_rh_pct, temp_c)
    mild = temp > MOULD_ABOVE_C.value
    weeks = longest_spell(mild & (rh > DAMP_RH_PCT.value)) >= WEEKS_DAYS.value
    return bool(weeks or longest_spell(mild & (rh > MOULD_RH_PCT.value)) >= SEVERAL_DAYS.value)


def rh_band(rh_pct: npt.ArrayLike) -> Ints:
    """Position in ``RH_BANDS`` for a sustained humidity of 0 to 100 %, any shape; OutOfRange beyond."""
    rh = within("rh_pct", rh_pct, 0.0, 100.0, "%", "relative humidity")
    return np.asarray(np.digitize(rh, RH_BAND_LIMITS_PCT, right=True))
