"""Parts that suffer by standing: what to look for at an inspection, from when, and the caution.

What happens: linings rust to drums, the clutch plate to the flywheel, seals dry and shrink, hoses
age from inside, vermin move in. Published onsets are wide ranges; damp sets in which end counts.

Equation (policy): onset = latest^(1 - d) x earliest^d, with d the damp share of the year, 0..1.
Nothing here is a forecast of failure: it says from when a look is due.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scheduler.physics.checks import within
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput
from scheduler.vocabulary.units import DAYS_PER_MONTH, DAYS_PER_YEAR

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

TRADE = "failure catalogue of workshop practice"
CLUBS = "owners' clubs: 2 weeks to 6 months in damp stores"
BORES = "Hallam, Thurrowgood & Ogilvie, National Museum of Australia, Corrosion, wear and corrosive wear"


@dataclass(frozen=True, slots=True)
class StandingPart:
    """One part: when standing may begin to tell (days), what to do, and the caution with it."""

    name: str
    label: str
    onset: Constant
    look: str
    caution: str


def _onset(days: tuple[float, float, float], source: str, standing: Standing) -> Constant:
    low, likely, high = days
    return Constant(likely, "days", source, standing, low, high)


def _years(low: float, likely: float, high: float) -> tuple[float, float, float]:
    return low * DAYS_PER_YEAR, likely * DAYS_PER_YEAR, high * DAYS_PER_YEAR


MEMORY, PRACTICE, PUBLISHED = Standing.FROM_MEMORY, Standing.COMMON_PRACTICE, Standing.PUBLISHED
STANDING_PARTS: tuple[StandingPart, ...] = (
    StandingPart(
        "air_conditioning",
        "air-conditioning seals",
        _onset(
            (DAYS_PER_MONTH, DAYS_PER_MONTH, 3 * DAYS_PER_MONTH),
            "US Army TB 9-2510-251-13 Table 4-1: run 5 minutes monthly",
            PUBLISHED,
        ),
        "Run it 5 minutes with the next full run, at 4 °C or warmer.",
        "Never run the engine for this alone, and never indoors without extraction.",
    ),
    StandingPart(
        "wiring",
        "wiring and trim, for vermin",
        _onset((7, 21, 42), f"{TRADE}: days to weeks", PRACTICE),
        "Look for droppings, nests and gnawed wires in the engine bay, heater and boot.",
        "Open up and leave 30 minutes; gloves; soak with bleach 1:9 for 5 minutes; never sweep (US CDC).",
    ),
    StandingPart(
        "brake_linings",
        "brake shoes, pads and handbrake",
        _onset((14, 42, 182), f"{TRADE}: weeks in damp", PRACTICE),
        "Roll the car a little and feel that each wheel is free; handbrake off, chocks both sides.",
        "Chock first. Treat lining dust as asbestos: no air line, no dry brush (OSHA 1910.1001).",
    ),
    StandingPart(
        "clutch",
        "clutch plate",
        _onset((14, 90, 182), CLUBS, PRACTICE),
        "Press the pedal through five times and leave it up.",
        "Chocked, out of gear, nobody in front of or behind the car.",
    ),
    StandingPart(
        "oil_seals",
        "oil seals of engine, gearbox and axle",
        _onset((90, 182, 730), "US Army TM 9-2330-392-14&P: may leak in storage or soon after", PRACTICE),
        "Look for fresh drips; wipe, mark and look again; only a lasting leak goes to repair.",
        "Wipe up oil at once: it is slippery, and ruins linings and tyres.",
    ),
    StandingPart(
        "bores",
        "cylinder bores and rings",
        _onset((60, 365, 730), f"{BORES}: corrosion after about two years", PRACTICE),
        "Look into the bores and oil them before the engine is ever turned.",
        "Never crank an engine that is tagged as preserved or that has not been looked into.",
    ),
    StandingPart(
        "brake_hydraulics",
        "wheel and master cylinders",
        _onset(_years(1, 2, 3), TRADE, PRACTICE),
        "Press the brake pedal for 10 seconds: it must not sink. Look for wet back-plates.",
        "A sinking or soft pedal: the car does not move under its own power until mended by a licensed hand.",
    ),
    StandingPart(
        "fuel_hoses",
        "fuel hoses and pump diaphragm",
        _onset(_years(2, 3, 5), f"{TRADE}; sooner with ethanol", PRACTICE),
        "Smell and feel along the hoses; bend each one and look for cracks.",
        "No flame, no sparks, no lead lamp; ventilate low down; a wet hose is a fire: tag the car.",
    ),
    StandingPart(
        "door_rubbers",
        "door, window and boot rubbers",
        _onset(_years(1, 3, 6), "rubber seals that take a set", MEMORY),
        "Open every door and lid, wipe the rubbers, look for water inside.",
        "Mould inside: gloves, goggles and a mask, and dry the car within two days (US EPA).",
    ),
    StandingPart(
        "brake_hoses",
        "flexible brake hoses",
        _onset(_years(5, 7, 10), f"{TRADE}: replace by age", MEMORY),
        "Look for cracks and swelling; a brake that stays on may be a hose closed from inside.",
        "Never under a car on a jack alone: stands on hard level floor, the rest chocked (HSE INDG434).",
    ),
)


def onset_days(damp_share: npt.ArrayLike) -> Floats:
    """Days of standing from which each part asks for a look, shape (n, parts), for damp shares (n,).

    Between the part's earliest (damp all the year, 1) and latest (never, 0); OutOfRange beyond 0 to 1.
    """
    damp = np.atleast_1d(within("damp_share", damp_share, 0.0, 1.0, "", "a share of the year"))
    earliest, latest = (np.array([part.onset.range[end] for part in STANDING_PARTS]) for end in (0, 2))
    return np.asarray(latest ** (1 - damp[:, None]) * earliest ** damp[:, None])


def asking_for_a_look(standing_days: npt.ArrayLike, damp_share: npt.ArrayLike) -> Bools:
    """Which parts ask for a look, shape (n, parts), after so many days of standing, shape (n,).

    ``damp_share`` (n,) 0 to 1. BadInput: days below nought or NaN; OutOfRange: a share beyond.
    """
    days = np.atleast_1d(np.asarray(standing_days, float))
    if np.any(~(days >= 0)):
        raise BadInput("standing_days", "must be zero or above")
    return np.asarray(days[:, None] >= onset_days(damp_share))
