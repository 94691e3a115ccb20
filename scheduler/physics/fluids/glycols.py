"""Freezing points of glycol and water, as tabulated; shares by mass and by volume side by side.

Source: ASHRAE Handbook Fundamentals, "Physical properties of secondary coolants", ethylene and
propylene glycol, as the data files in the CoolProp repository give it (Vol2Mass and TFreeze).
Beyond the last row no freezing point is tabulated and neat glycol freezes warmer again, so
nothing here may be extended.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

ASHRAE = "ASHRAE Handbook Fundamentals, Physical properties of secondary coolants"

MASS_PCT = np.array([0, 5, 10, 15, *range(20, 61)], float)  # the rows of both tables
ETHYLENE_VOLUME_PCT = np.array(
    [
        0.0,
        4.4,
        8.9,
        13.6,
        18.1,
        19.2,
        20.1,
        21.0,
        22.0,
        22.9,
        23.9,
        24.8,
        25.8,
        26.7,
        27.7,
        28.7,
        29.6,
        30.6,
        31.6,
        32.6,
        33.5,
        34.5,
        35.5,
        36.5,
        37.5,
        38.5,
        39.5,
        40.5,
        41.5,
        42.5,
        43.5,
        44.5,
        45.5,
        46.6,
        47.6,
        48.6,
        49.6,
        50.6,
        51.6,
        52.7,
        53.7,
        54.7,
        55.7,
        56.8,
        57.8,
    ]
)
ETHYLENE_FREEZING_C = np.array(
    [
        0.0,
        -1.4,
        -3.2,
        -5.4,
        -7.8,
        -8.4,
        -8.9,
        -9.5,
        -10.2,
        -10.7,
        -11.4,
        -12.0,
        -12.7,
        -13.3,
        -14.1,
        -14.8,
        -15.4,
        -16.2,
        -17.0,
        -17.9,
        -18.6,
        -19.4,
        -20.3,
        -21.3,
        -22.3,
        -23.2,
        -24.3,
        -25.3,
        -26.4,
        -27.5,
        -28.8,
        -29.8,
        -31.1,
        -32.6,
        -33.8,
        -35.1,
        -36.4,
        -37.9,
        -39.3,
        -41.1,
        -42.6,
        -44.2,
        -45.6,
        -47.1,
        -48.3,
    ]
)
PROPYLENE_VOLUME_PCT = np.array(
    [
        0.0,
        4.8,
        9.6,
        14.5,
        19.4,
        20.4,
        21.4,
        22.4,
        23.4,
        24.4,
        25.3,
        26.4,
        27.4,
        28.4,
        29.4,
        30.4,
        31.4,
        32.4,
        33.5,
        34.4,
        35.5,
        36.5,
        37.5,
        38.5,
        39.6,
        40.6,
        41.6,
        42.6,
        43.7,
        44.7,
        45.7,
        46.8,
        47.8,
        48.9,
        49.9,
        50.9,
        51.9,
        53.0,
        54.0,
        55.0,
        56.0,
        57.0,
        58.0,
        59.0,
        60.0,
    ]
)
PROPYLENE_FREEZING_C = np.array(
    [
        0.0,
        -1.6,
        -3.3,
        -5.1,
        -7.1,
        -7.6,
        -8.0,
        -8.6,
        -9.1,
        -9.6,
        -10.2,
        -10.8,
        -11.4,
        -12.0,
        -12.7,
        -13.4,
        -14.1,
        -14.8,
        -15.6,
        -16.4,
        -17.3,
        -18.2,
        -19.1,
        -20.1,
        -21.1,
        -22.1,
        -23.2,
        -24.3,
        -25.5,
        -26.7,
        -27.9,
        -29.3,
        -30.6,
        -32.1,
        -33.5,
        -35.0,
        -36.6,
        -38.2,
        -39.8,
        -41.6,
        -43.3,
        -45.2,
        -47.1,
        -49.0,
        -51.1,
    ]
)


@dataclass(frozen=True)
class GlycolTable:
    """One glycol's rows: shares 0..1 by mass and by volume, freezing point in °C; shape (45,)."""

    name: str
    mass_share: Floats
    volume_share: Floats
    freezing_c: Floats


def _table(name: str, volume_pct: Floats, freezing_c: Floats) -> GlycolTable:
    return GlycolTable(name, MASS_PCT / 100, volume_pct / 100, freezing_c)


GLYCOLS = {
    "ethylene": _table("ethylene glycol", ETHYLENE_VOLUME_PCT, ETHYLENE_FREEZING_C),
    "propylene": _table("propylene glycol", PROPYLENE_VOLUME_PCT, PROPYLENE_FREEZING_C),
}
