"""Freezing points of glycol and water, as tabulated; shares by mass and by volume side by side.

Source: ASHRAE Handbook Fundamentals, "Physical properties of secondary coolants", as the data
files distributed with CoolProp (Vol2Mass and TFreeze of ethylene and propylene glycol) give it.
Beyond the last row no freezing point is tabulated and neat glycol freezes warmer again, so
nothing here may be extended.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

ASHRAE = "ASHRAE Handbook Fundamentals, Physical properties of secondary coolants"

# mass %, ethylene volume %, ethylene °C, propylene volume %, propylene °C
ROWS = np.array([
    (0, 0.0, 0.0, 0.0, 0.0), (5, 4.4, -1.4, 4.8, -1.6), (10, 8.9, -3.2, 9.6, -3.3),
    (15, 13.6, -5.4, 14.5, -5.1), (20, 18.1, -7.8, 19.4, -7.1), (22, 20.1, -8.9, 21.4, -8.0),
    (24, 22.0, -10.2, 23.4, -9.1), (25, 22.9, -10.7, 24.4, -9.6), (26, 23.9, -11.4, 25.3, -10.2),
    (28, 25.8, -12.7, 27.4, -11.4), (30, 27.7, -14.1, 29.4, -12.7), (32, 29.6, -15.4, 31.4, -14.1),
    (34, 31.6, -17.0, 33.5, -15.6), (35, 32.6, -17.9, 34.4, -16.4), (36, 33.5, -18.6, 35.5, -17.3),
    (38, 35.5, -20.3, 37.5, -19.1), (40, 37.5, -22.3, 39.6, -21.1), (42, 39.5, -24.3, 41.6, -23.2),
    (44, 41.5, -26.4, 43.7, -25.5), (45, 42.5, -27.5, 44.7, -26.7), (46, 43.5, -28.8, 45.7, -27.9),
    (48, 45.5, -31.1, 47.8, -30.6), (50, 47.6, -33.8, 49.9, -33.5), (52, 49.6, -36.4, 51.9, -36.6),
    (54, 51.6, -39.3, 54.0, -39.8), (55, 52.7, -41.1, 55.0, -41.6), (56, 53.7, -42.6, 56.0, -43.3),
    (58, 55.7, -45.6, 58.0, -47.1), (60, 57.8, -48.3, 60.0, -51.1),
])  # fmt: skip


@dataclass(frozen=True)
class GlycolTable:
    """One glycol's rows: shares 0..1 by mass and by volume, freezing point in °C; shape (29,)."""

    name: str
    mass_share: Floats
    volume_share: Floats
    freezing_c: Floats


GLYCOLS = {
    "ethylene": GlycolTable("ethylene glycol", ROWS[:, 0] / 100, ROWS[:, 1] / 100, ROWS[:, 2]),
    "propylene": GlycolTable("propylene glycol", ROWS[:, 0] / 100, ROWS[:, 3] / 100, ROWS[:, 4]),
}
