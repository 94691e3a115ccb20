"""A column of text as numbers: decimal commas, units behind the figure, words and codes for an error."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# What loggers write for "no sensor", "no answer", "overflow": common practice, and the ends of their
# 16-bit counters in hundredths and tenths.
ERROR_CODES = (
    -9999.0,
    -999.9,
    -999.0,
    -327.68,
    -273.15,
    -127.0,
    -99.99,
    -99.9,
    -99.0,
    327.67,
    655.35,
    999.0,
    999.9,
    3276.7,
    3276.8,
    6553.5,
    9999.0,
    9999.9,
    32767.0,
    65535.0,
)
_WITH_UNIT = r"^([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(?:°\s*[CF]|[CF]|%|% ?RH|m?V|volts?)?$"
EMPTY = ("", "nan", "na", "n/a", "null", "none", "-", "--", "---")


@dataclass(frozen=True)
class Column:
    """``value`` (m,), NaN where there is none; where words stood in place of a number, and error codes."""

    value: Floats
    words: Bools
    codes: Bools


def numbers(text: pl.Series, decimal: str) -> Column:
    """The numbers of a column; what is left empty is neither a word nor a code."""
    plain = text.str.strip_chars(" \t\"'").str.replace("−", "-", literal=True)
    if decimal == ",":
        plain = plain.str.replace(",", ".", literal=True)
    number = plain.cast(pl.Float64, strict=False)
    failed = number.is_null() & plain.is_not_null()
    if failed.any():
        number = pl.select(
            pl.when(failed)
            .then(plain.str.extract(_WITH_UNIT, 1).cast(pl.Float64, strict=False))
            .otherwise(number)
        ).to_series()
    empty = plain.is_null() | plain.str.to_lowercase().is_in(EMPTY)
    value = number.fill_null(np.nan).to_numpy().astype(float).copy()
    value[~np.isfinite(value)] = np.nan
    words = np.isnan(value) & ~empty.to_numpy()
    codes = np.isin(value, ERROR_CODES)
    value[codes] = np.nan
    return Column(value, words, codes)
