"""What puts each system right when standing has told on it: hours and parts, least and most.

All of it is our allowance (policy) for a common car; a rare one costs what it costs.
"""

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True)
class Remedy:
    """One repair: hours and number of parts, each from least to most; ``part`` names a price."""

    words: str
    hours: tuple[float, float]
    part: str = ""
    count: tuple[float, float] = (0.0, 0.0)


REMEDIES: Final[dict[str, Remedy]] = {
    "battery": Remedy("a new battery", (0.3, 0.5), "battery", (1, 1)),
    "carburettor": Remedy("carburettor or injection stripped and cleaned", (2, 6), "small_part", (1, 4)),
    "tank": Remedy("tank out, cleaned, perhaps lined", (3, 9), "small_part", (1, 4)),
    "pickup": Remedy("pickup and strainer cleaned", (1, 3), "small_part", (0, 2)),
    "fuel_rubber": Remedy("fuel hoses and pump diaphragm", (1.5, 4), "small_part", (2, 6)),
    "brake_hydraulics": Remedy("brake cylinders overhauled or renewed", (4, 12), "brake_set", (1, 2)),
    "brake_hose": Remedy("brake hoses renewed", (1.5, 3), "small_part", (3, 5)),
    "shoes": Remedy("brakes freed, shoes or pads", (1, 4), "brake_set", (0, 1)),
    "clutch": Remedy("clutch freed or renewed", (0.5, 10), "small_part", (0, 8)),
    "cooling": Remedy("cooling flushed, hoses, perhaps a pump", (1.5, 6), "small_part", (1, 6)),
    "tyres": Remedy("four tyres", (0.5, 1.5), "tyre", (4, 4)),
    "oil_seals": Remedy("leaking seals, as found", (2, 12), "small_part", (1, 5)),
    "bores": Remedy("bores soaked and turned by hand; at worst a strip-down", (3, 60), "small_part", (1, 30)),
    "valves": Remedy("valves freed; at worst the head off", (2, 20), "small_part", (0, 10)),
    "points": Remedy("contact points cleaned or renewed", (0.3, 1), "small_part", (0, 2)),
    "wiring": Remedy("gnawed or green wiring made good", (1, 12), "small_part", (0, 5)),
    "exhaust": Remedy("exhaust renewed", (1, 3), "exhaust", (1, 1)),
    "trim": Remedy("trim dried and cleaned", (2, 12), "small_part", (0, 3)),
    "sender": Remedy("gauge sender freed or renewed", (0.5, 2), "small_part", (0, 2)),
}  # petrol itself is the duty "fuel change"
