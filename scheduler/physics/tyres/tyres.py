"""Tyres: how fast they lose pressure and how long they may stand on one patch.

Leak is a share of the gauge pressure per month at 20 °C, all paths together: through the rubber, past the
valve and past the bead. The permeation paper gives 0.5 to 1.0 psi a month at 70 °F, which on a 32 psi tyre
is 1.6 to 3.1 %. A one-year test of 31 models standing outdoors lost 1.03 % a month in its cooler mean.
"""

from dataclasses import dataclass

from scheduler.vocabulary.constants import Constant, Standing

TYRE_PLACES = ("front left", "front right", "rear left", "rear right", "spare")  # readings count from 0
SPARE = TYRE_PLACES.index("spare")

PERMEATION = "Pressure Loss Mechanisms in Pneumatic Tires, Tire Science & Technology 13(1):16 (1985)"
STORAGE_BULLETIN = "Rubber Manufacturers Association, TISB Vol. 23 No. 4, Tire Storage Recommendations"

LEAK_PER_MONTH = Constant(
    0.02,
    "1/month",
    f"{PERMEATION}; 1 to 3.5 % in sound tubeless tyres, to 5 % with butyl tubes; best liners below 1 %, "
    "how far is our choice",
    Standing.COMMON_PRACTICE,
    0.006,
    0.05,
)
OLD_LEAK_PER_MONTH = Constant(
    0.04,
    "1/month",
    "tyres over ten years old, with valves and beads",
    Standing.FROM_MEMORY,
    0.02,
    0.06,
)
OLD_YEARS = 10.0  # policy: from this age on a tyre counts as old
LEAK_FAULT_PER_MONTH = Constant(
    0.05,
    "1/month",
    "a tyre that loses so much has a fault to find",
    Standing.COMMON_PRACTICE,
)
# 1.5 psi at 90 °F (32.2 °C) against 0.5 to 1.0 psi at 70 °F (21.1 °C); likely is the geometric mean.
LEAK_PER_10_K = Constant(1.64, "1", f"{PERMEATION}: ratio per 10 K", Standing.COMPUTED, 1.44, 1.87)
LEAK_REFERENCE_C = Constant(20.0, "°C", "reference of the monthly leak", Standing.POLICY)
GAUGE_NOISE_SHARE = Constant(
    0.02, "1", "a hand gauge read twice, and air not quite as warm as written", Standing.POLICY, 0.005, 0.03
)
GAUGE_OFFSET_SHARE = Constant(
    0.025,
    "1",
    "a hand gauge as a whole: repeating mends it not",
    Standing.FROM_MEMORY,
    0.0,
    0.04,
)
SET_SHARE = Constant(
    0.03, "1", "pumped up to the placard, nobody having written down to what", Standing.POLICY, 0.0, 0.06
)
LAID_UP_SHARE = Constant(
    0.05,
    "1",
    "taken as at placard at the lay-up, unread",
    Standing.POLICY,
    0.0,
    0.10,
)
AIR_SD_K = Constant(
    4.0, "K", "a tyre's air against the day's mean, where its warmth was not written down", Standing.POLICY
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
