"""What puts each system right when standing has told on it: hours and parts, low, likely and high.

All of it is our allowance (policy) for a small car of simple build; a rare one costs what it costs.
"""

from dataclasses import dataclass
from typing import Final

Triple = tuple[float, float, float]
NOTHING: Final[Triple] = (0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Remedy:
    """One repair: hours, and how many parts, each low, likely and high; ``part`` names a price."""

    words: str
    hours: Triple
    part: str
    count: Triple


REMEDIES: Final[dict[str, Remedy]] = {
    "battery": Remedy("a new battery", (0.2, 0.3, 0.5), "battery", (1, 1, 1)),
    "carburettor": Remedy(
        "carburettor or injection stripped and cleaned", (1.5, 3, 6), "small_part", (1, 2, 4)
    ),
    "tank": Remedy("tank out, cleaned, perhaps lined", (3, 6, 9), "small_part", (1, 2, 4)),
    "pickup": Remedy("pickup and strainer cleaned", (1, 2, 3), "small_part", (0, 1, 2)),
    "fuel_rubber": Remedy("fuel hoses and pump diaphragm", (1, 2, 4), "small_part", (2, 4, 6)),
    "brake_hydraulics": Remedy("brake cylinders overhauled or renewed", (4, 8, 12), "brake_set", (1, 2, 2)),
    "brake_hose": Remedy("brake hoses renewed", (1.5, 2, 3), "small_part", (3, 4, 5)),
    "shoes": Remedy("brakes freed, shoes or pads", (1, 3, 5), "brake_set", (0, 1, 1)),
    "clutch": Remedy("clutch freed or renewed", (0.5, 3, 16), "small_part", (0, 2, 8)),
    "cooling": Remedy("cooling flushed, hoses, perhaps a pump", (1.5, 4, 8), "small_part", (1, 4, 8)),
    "tyres": Remedy("four tyres", (0.5, 1, 2), "tyre", (4, 4, 4)),
    "oil_seals": Remedy("leaking seals, as found", (2, 5, 12), "small_part", (1, 2, 5)),
    "bores": Remedy(
        "bores soaked and turned by hand; at worst a strip-down", (3, 25, 80), "small_part", (1, 10, 60)
    ),
    "valves": Remedy("valves freed; at worst the head off", (2, 10, 24), "small_part", (0, 6, 20)),
    "points": Remedy("contact points cleaned or renewed", (0.3, 0.7, 1.5), "small_part", (0, 1, 3)),
    "wiring": Remedy("gnawed or green wiring made good", (1, 4, 20), "small_part", (0, 2, 10)),
    "exhaust": Remedy("exhaust renewed", (1, 2, 4), "exhaust", (1, 1, 1)),
    "trim": Remedy("trim dried and cleaned", (2, 5, 12), "small_part", (0, 1, 3)),
    "sender": Remedy("gauge sender freed or renewed", (0.5, 1, 2), "small_part", (0, 1, 2)),
}  # petrol itself is the duty "fuel change"
