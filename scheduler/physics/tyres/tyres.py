"""Tyres: how fast they lose pressure and how long they may stand on one patch.

Leak is a share of the gauge pressure per month at 20 °C. The permeation paper gives 0.5 to
1.0 psi a month at 70 °F, which on a 32 psi tyre is 1.6 to 3.1 %.
"""

from dataclasses import dataclass

from scheduler.vocabulary.constants import Constant, Standing

TYRE_PLACES = ("front left", "front right", "rear left", "rear right", "spare")  # readings count from 0
SPARE = TYRE_PLACES.index("spare")

PERMEATION = "Pressure Loss Mechanisms in Pneumatic Tires, Tire Science & Technology 13(1):16 (1985)"
STORAGE_BULLETIN = "Rubber Manufacturers Association, TISB Vol. 23 No. 4, Tire Storage Recommendations"

LEAK_PER_MONTH = Constant(
    0.02, "1/month", f"{PERMEATION}; 1 to 3 % a month is a common range", Standing.COMMON_PRACTICE, 0.01, 0.03
)
# 1.5 psi at 90 °F (32.2 °C) against 0.5 to 1.0 psi at 70 °F (21.1 °C); likely is the geometric mean.
LEAK_PER_10_K = Constant(1.64, "1", f"{PERMEATION}: ratio per 10 K", Standing.COMPUTED, 1.44, 1.87)
LEAK_REFERENCE_C = Constant(20.0, "°C", "reference of the monthly leak", Standing.POLICY)
GAUGE_NOISE_SHARE = Constant(
    0.015, "1", "repeatability of a hand gauge, about 3 kPa of 220", Standing.POLICY, 0.005, 0.03
)


@dataclass(frozen=True, slots=True)
class TyreKind:
    """One build of tyre and how long it may stand loaded on one patch."""

    name: str
    label: str
    stand_days: Constant


TYRE_KINDS: tuple[TyreKind, ...] = (
    TyreKind(
        "conventional",
        "conventional tyre",
        Constant(90, "days", f"{STORAGE_BULLETIN}: move every 3 months", Standing.PUBLISHED),
    ),
    TyreKind(
        "overlay",
        "high-performance tyre with overlay",
        Constant(30, "days", "a tyre maker's storage page: 30 days", Standing.PUBLISHED),
    ),
    TyreKind(
        "unknown",
        "tyre, build unknown",
        Constant(
            90,
            "days",
            f"{STORAGE_BULLETIN}; 30 days if it is a high-performance tyre with overlay",
            Standing.PUBLISHED,
            30,
            90,
        ),
    ),
)
