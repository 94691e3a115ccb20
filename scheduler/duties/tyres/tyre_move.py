"""Duty ``tyre_move``: roll the car so that another patch carries it; a car on stands needs none."""

import numpy as np

from scheduler.duties.conditions import UNKNOWN, Bools, Fleet, Floats, Ints
from scheduler.duties.fluids import anchors
from scheduler.duties.policy import Policy
from scheduler.duties.tyres.course import placards
from scheduler.duties.tyres.leaks import last
from scheduler.duties.tyres.readings import pressures
from scheduler.duties.windows import NOT_HELD, Day, DutyWindow, Explanation, Input, Source, Step, ordered
from scheduler.duties.words import cited, known_day, number, one_car, spoken
from scheduler.physics.materials import at
from scheduler.physics.tyres.pressure import set_share, standing_days_allowed
from scheduler.physics.tyres.tyres import SPARE, TYRE_KINDS
from scheduler.vocabulary.constants import Standing
from scheduler.vocabulary.tags import TAGS

LIMITS = ("standing on one patch",)
STOPS = [index for index, tag in enumerate(TAGS) if tag.stops_moving]
HOLDS = ("tagged as not to be moved",)
MOVE_CAUTION = "Chock first, check the brakes let go, nobody in front of or behind the car; brakes may fail."


def _start(fleet: Fleet) -> tuple[Floats, Bools]:
    """The day each car last rolled, and whether that is assumed from the lay-up, shape (n,)."""
    rolled = np.fmax(fleet.last_moved, fleet.last_road_use)
    silent = np.isnan(rolled)
    return np.where(silent, anchors(fleet)[0], rolled), silent


def _softest_kpa(fleet: Fleet, today: Day) -> tuple[Floats, Floats]:
    """Each car's softest last reading at 20 °C (NaN: none; the spare aside) and its placard, shape (n,)."""
    kpa = last(fleet, pressures(fleet, today))
    carrying = np.delete(kpa, np.arange(SPARE - UNKNOWN, min(kpa.shape[1], SPARE - UNKNOWN + 1)), axis=1)
    return np.fmin.reduce(carrying, axis=1), placards(fleet, kpa)


def _allowed(fleet: Fleet, today: Day) -> Floats:
    """Days that each car may stand on one patch, shape (3, n); the build of tyre is not recorded."""
    stand = at(TYRE_KINDS, np.full(len(fleet), -1), "stand_days")
    return standing_days_allowed(stand, *_softest_kpa(fleet, today))


def _hold(fleet: Fleet) -> Ints:
    unsafe = fleet.tags[:, STOPS].any(axis=1)
    return np.where(unsafe & ~fleet.on_stands, 0, NOT_HELD)


def window(fleet: Fleet, today: Day, policy: Policy) -> DutyWindow:
    """When each car is to be rolled: early if its tyres have an overlay, late when a set may stay."""
    (start, silent), (least, likely, _) = _start(fleet), _allowed(fleet, today)
    start = np.where(np.isnan(start), today - likely, start)
    days = (start + least, start + likely, start + policy.tyre_late_factor * likely)
    early, due, late = (np.where(fleet.on_stands, np.nan, day) for day in days)
    limit = np.zeros(len(fleet), np.int64)
    return DutyWindow(
        *ordered(early, due, late), LIMITS, limit, HOLDS, _hold(fleet), silent & ~fleet.on_stands
    )


def explain(fleet: Fleet, today: float, policy: Policy) -> Explanation:
    """Why one car is to be rolled when it is."""
    due, (start, silent) = window(one_car(fleet), today, policy), _start(fleet)
    softest, placard = (float(kpa[0]) for kpa in _softest_kpa(fleet, today))
    least, likely, _ = _allowed(fleet, today)[:, 0]
    inputs = (
        Input("on stands", "yes" if fleet.on_stands[0] else "no", "", "record"),
        Input(
            "last rolled",
            spoken(start[0], "not recorded"),
            "",
            "assumed" if silent[0] else "care log",
            known_day(start[0]),
        ),
        Input(
            "softest tyre at 20 °C",
            "not read" if np.isnan(softest) else softest,
            "" if np.isnan(softest) else "kPa",
            "assumed" if np.isnan(softest) else "reading",
        ),
    )
    share = 1.0 if np.isnan(softest) else min(softest / placard, 1.0)
    worked = f"{number(likely / share if share else likely)} × {number(share, 2)} = {number(likely)} days"
    return Explanation(
        _summary(fleet, due, least, likely),
        inputs,
        (
            Step(
                "Days on one patch", "published interval × pressure / placard, at most the interval", worked
            ),
            Step("Used up", "days stood / days allowed", _used(fleet, today, start[0], likely)),
            Step("Caution", "before the car rolls", MOVE_CAUTION),
        ),
        (
            *(cited(kind.stand_days) for kind in TYRE_KINDS[:2]),
            Source("shortened in proportion to pressure", Standing.POLICY),
        ),
        _assumptions(start[0], bool(silent[0]), softest),
    )


def _used(fleet: Fleet, today: float, start: float, allowed_days: float) -> str:
    if np.isnan(start):
        return "not known"
    stood = max(today - start, 0.0)
    used = float(set_share(stood, allowed_days, fleet.on_stands)[0])
    return f"{number(stood)} / {number(allowed_days)} = {number(100 * used)} %"


def _summary(fleet: Fleet, due: DutyWindow, least_days: float, likely_days: float) -> str:
    if fleet.on_stands[0]:
        return "The car is on stands: its tyres carry no weight and take no set."
    text = (
        f"Standing on one patch, it is rolled a part turn of the wheels after {number(likely_days)} days: "
        f"by {spoken(due.due[0])}. High-performance tyres with an overlay: after {number(least_days)} days."
    )
    return text if due.hold[0] == NOT_HELD else f"{text} Held for now: {HOLDS[due.hold[0]]}."


def _assumptions(start: float, silent: bool, softest_kpa: float) -> tuple[str, ...]:
    texts = ["The build of the tyres is not recorded: the early date is that of an overlay tyre."]
    if silent:
        texts.append(
            "Neither a move nor road use is recorded: due today."
            if np.isnan(start)
            else f"No move is recorded: reckoned from {spoken(start)}, when its storage began."
        )
    if np.isnan(softest_kpa):
        texts.append("No pressure is recorded: taken as at placard.")
    return tuple(texts)
