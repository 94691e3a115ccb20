"""What each duty asks for: hands, equipment, its place in the order at a car, and why.

Every organisation may edit the minutes; the ranks follow from what one step does to the next.
"""

from dataclasses import dataclass
from typing import Final

from scheduler.constants import Constant, Standing

CHARGER: Final = "charger"
MAINTAINER: Final = "maintainer"
EXTRACTION: Final = "exhaust place"
LIFT: Final = "lift"


def _minutes(value: float, low: float, high: float, source: str) -> Constant:
    return Constant(value, "min", source, Standing.POLICY, low, high)


MOVE_MINUTES: Final = _minutes(10, 5, 20, "chock off, roll out and back, chock on: our allowance a car")
MOVE_RANK: Final = 40  # tyre pressures come before it, the engine's own work after it
ON_CHARGE: Final = Constant(
    300,
    "min",
    "a 60 Ah battery from 75 % at 4 A with a third more for losses and the slow end",
    Standing.POLICY,
    120,
    960,
)


@dataclass(frozen=True)
class Work:
    """One duty as work: ``rank`` orders the steps of one visit, low first.

    ``occupies``: how long equipment and car are bound, where that is longer than the hands are;
    the next step at the car waits for it. ``leaves_bay``: the car is driven out, so that those in
    front are moved first. ``warm``: done only on a visit with a run-up, after it.
    """

    duty: str
    label: str
    minutes: Constant
    rank: int
    order_reason: str
    needs: tuple[str, ...] = ()
    occupies: Constant | None = None
    leaves_bay: bool = False
    warm: bool = False


WORK: Final = (
    Work(
        "inspection",
        "walk-round",
        _minutes(10, 5, 20, "a slow walk round one car: our allowance"),
        5,
        "look first: a leak or a smell of petrol stops the rest",
    ),
    Work(
        "fuel_change",
        "fuel change",
        _minutes(60, 30, 120, "drain, dispose, refill: our allowance"),
        8,
        "fresh fuel before it is stabilised",
    ),
    Work(
        "stabiliser",
        "fuel stabiliser",
        _minutes(10, 5, 20, "dose and note the litres: our allowance"),
        10,
        "stabilise fresh fuel before the run-up that draws it in",
    ),
    Work(
        "charge",
        "charge",
        _minutes(15, 10, 30, "connect, look again, disconnect: our allowance"),
        35,
        "charge before cranking, and once the hands are done elsewhere on the car",
        (CHARGER,),
        ON_CHARGE,
    ),
    Work(
        "tyre_pressure",
        "tyre pressures",
        _minutes(10, 5, 20, "four tyres and the spare: our allowance"),
        30,
        "tyre pressures before moving",
    ),
    Work("tyre_move", "move off the flat spots", MOVE_MINUTES, MOVE_RANK, "moved on firm tyres"),
    Work(
        "run_up",
        "warm run",
        _minutes(45, 30, 75, "warm through and hold at heat: our allowance"),
        50,
        "after charge, stabiliser and tyres",
        (EXTRACTION,),
        None,
        True,
    ),
    Work(
        "engine_oil",
        "engine oil",
        _minutes(45, 30, 90, "drain, filter, fill, check: our allowance"),
        60,
        "oil is changed warm, after the run-up",
        (LIFT,),
        None,
        True,
        True,
    ),
    Work(
        "gearbox_oil",
        "gearbox oil",
        _minutes(40, 20, 90, "drain, fill, check: our allowance"),
        62,
        "oil drains best after the run",
        (LIFT,),
        None,
        True,
    ),
    Work(
        "axle_oil",
        "axle oil",
        _minutes(30, 20, 60, "drain, fill, check: our allowance"),
        64,
        "oil drains best after the run",
        (LIFT,),
        None,
        True,
    ),
    Work(
        "coolant",
        "coolant",
        _minutes(60, 30, 120, "drain cold, fill, bleed: our allowance"),
        6,
        "on a cold engine only: a hot system is under pressure and scalds",
    ),
    Work(
        "brake_fluid",
        "brake fluid",
        _minutes(75, 45, 150, "bleed four corners: our allowance"),
        45,
        "on the lift, so once the car is out; sound brakes before the engine is run",
        (LIFT,),
        None,
        True,
    ),
)

BY_DUTY: Final = {work.duty: work for work in WORK}
