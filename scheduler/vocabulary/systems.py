"""The systems of a car, in the order in which a reader meets them."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class System:
    """``parts``: what standing tells on, by the code of its repair."""

    code: str
    title: str
    parts: tuple[str, ...] = ()


SYSTEMS = (
    System(code="battery", title="Battery", parts=("battery",)),
    System(code="engine", title="Engine", parts=("bores", "valves", "oil_seals", "points")),
    System(code="fuel", title="Fuel", parts=("carburettor", "tank", "pickup", "fuel_rubber", "sender")),
    System(code="cooling", title="Cooling", parts=("cooling",)),
    System(code="brakes", title="Brakes", parts=("brake_hydraulics", "brake_hose", "shoes")),
    System(code="driveline", title="Clutch, gearbox and axle", parts=("clutch",)),
    System(code="tyres", title="Tyres", parts=("tyres",)),
    System(code="car", title="The whole car", parts=("wiring", "exhaust", "trim")),
)
