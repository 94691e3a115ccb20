"""Duty ``inspection``: the inspection, weekly in the open, monthly under a roof, sooner in the damp."""

import numpy as np

from scheduler.duties.battery.charge.evidence import unsound_since
from scheduler.duties.car.air_around import air_steps
from scheduler.duties.conditions import Bools, Fleet, Floats
from scheduler.duties.dampness import damp_shares
from scheduler.duties.fluids import anchors
from scheduler.duties.policy import Policy
from scheduler.duties.windows import (
    NOT_HELD,
    Day,
    DutyWindow,
    Explanation,
    Input,
    Source,
    Step,
    ordered,
)
from scheduler.duties.words import known_day, number, one_car, spoken
from scheduler.physics.engine.standing_parts import STANDING_PARTS, asking_for_a_look, onset_days
from scheduler.physics.tyres.age import AGE_BANDS, INSPECT_FROM, REPLACE_FROM, age_band, age_years
from scheduler.vocabulary.constants import Standing

ADMIN_STORAGE = "US Army TM 9-2330-267-14&P, para 4-65: weekly in the open, monthly covered, after storms"
TOLERANCE = "US Army TM 9-2330-388-14, para 4-68: 10 % of the interval either way"
ALWAYS = "Tyres by gauge; leaks of oil, fuel and coolant; covers and seals; rust; water inside; vermin."
UNRECORDED = "not recorded"
LIMITS = ("inspection in the open", "inspection under a roof", "its battery reads like no sound one")
OPEN, ROOFED, BATTERY = range(len(LIMITS))


def _in_the_open(fleet: Fleet) -> Bools:
    return np.array([place.shelter == "open" for place in fleet.places])[fleet.place]


def _interval(fleet: Fleet, today: Day, policy: Policy) -> Floats:
    damp = damp_shares(fleet, today, policy)
    roofed = policy.inspect_covered_days * (1 - (1 - policy.damp_inspect_factor) * damp)
    return np.where(_in_the_open(fleet), policy.inspect_open_days, roofed)


def _start(fleet: Fleet) -> tuple[Floats, Bools]:
    """The last inspection, or else the last visit or the lay-up (assumed), shape (n,)."""
    silent = np.isnan(fleet.last_inspected)
    visited = np.where(np.isnan(fleet.last_attended), anchors(fleet)[0], fleet.last_attended)
    return np.where(silent, visited, fleet.last_inspected), silent


def window(fleet: Fleet, today: Day, policy: Policy) -> DutyWindow:
    """When each car is to be walked round."""
    interval, (start, silent) = _interval(fleet, today, policy), _start(fleet)
    start = np.where(np.isnan(start), today - interval, start)
    early, late = (start + interval * (1 + way * policy.fluid_tolerance) for way in (-1, 1))
    limit, due = np.where(_in_the_open(fleet), OPEN, ROOFED), start + interval
    odd = _odd_battery(fleet, today)
    early, due = np.fmin(early, odd), np.fmin(due, odd)
    late = np.fmin(late, odd + policy.inspect_open_days)
    limit, held = np.where(due == odd, BATTERY, limit), np.full(len(fleet), NOT_HELD)
    return DutyWindow(*ordered(early, due, late), LIMITS, limit, (), held, silent & ~(due == odd))


def _odd_battery(fleet: Fleet, today: Day) -> Floats:
    """The day on which a battery read like no sound one and nobody has walked round the car since (n,)."""
    day = unsound_since(fleet, today)
    return np.where(fleet.last_inspected >= day, np.nan, day)


def standing_days(fleet: Fleet, today: float) -> Floats:
    """Days since each car last rolled, or since the lay-up; NaN where neither is known, shape (n,)."""
    rolled = np.fmax(fleet.last_moved, fleet.last_road_use)
    since = np.where(np.isnan(rolled), anchors(fleet)[0], rolled)
    return np.maximum(today - since, 0.0)


def explain(fleet: Fleet, today: float, policy: Policy) -> Explanation:
    """Why one car is to be walked round when it is, and what to look for at it."""
    due, (start, silent) = window(one_car(fleet), today, policy), _start(fleet)
    place, interval = fleet.places[int(fleet.place[0])], _interval(fleet, today, policy)[0]
    damp, stood = damp_shares(fleet, today, policy), standing_days(fleet, today)
    shelter = place.shelter.replace("_", " ")
    inputs = (
        Input("shelter", shelter, "", "record"),
        Input("last inspection", spoken(start[0], UNRECORDED), "", _basis(silent), known_day(start[0])),
        Input("damp days of the past year", float(100 * damp[0]), "%", "climate"),
        Input("standing for", UNRECORDED if np.isnan(stood[0]) else float(stood[0]), "days", "record"),
    )
    summary = (
        f"In {shelter} storage, with {number(100 * damp[0])} % of days damp, it is walked round every "
        f"{number(interval)} days: due {spoken(due.due[0])}; also after any storm."
    )
    if due.limit[0] == BATTERY:
        summary = (
            f"Its battery read like no sound one on {spoken(due.due[0])}: look for ice, a split case, "
            "a warm cell and what still draws on it, before anything is put on it. Wear eye protection."
        )
    steps = (
        Step("At every inspection", "look for", ALWAYS),
        *_parts(stood, damp),
        *_tyre_age(fleet, today),
        *air_steps(fleet, today),
    )
    sources = (
        Source(ADMIN_STORAGE, Standing.PUBLISHED),
        Source(TOLERANCE, Standing.PUBLISHED),
        Source("ISO 9223: time of wetness; WMO-No. 8: dew point", Standing.PUBLISHED),
        Source("shortened by the share of damp days", Standing.POLICY),
    )
    return Explanation(summary, inputs, steps, sources, _assumptions(start[0], bool(silent[0]), stood[0]))


def _basis(silent: Bools) -> str:
    return "assumed" if silent[0] else "care log"


def _parts(stood: Floats, damp: Floats) -> tuple[Step, ...]:
    """The parts that have stood for long enough to ask for a look; all of them where that is unknown."""
    days = np.where(np.isnan(stood), np.inf, stood)
    onset = onset_days(damp)[0]
    return tuple(
        Step(
            part.label.capitalize(),
            f"from {number(onset[i])} days of standing at this damp",
            f"{part.look} Caution: {part.caution}",
        )
        for i, part in enumerate(STANDING_PARTS)
        if asking_for_a_look(days, damp)[0, i]
    )


def _tyre_age(fleet: Fleet, today: float) -> tuple[Step, ...]:
    years = age_years(fleet.tyre_made, today)[0]
    band = int(age_band(years))
    if band <= 0:
        return ()
    bounds = f"inspect yearly from {INSPECT_FROM.value:.0f}, replace from {REPLACE_FROM.value:.0f} years"
    return (Step("Tyre age", bounds, f"{number(years, 1)} years since made: {AGE_BANDS[band]}"),)


def _assumptions(start: float, silent: bool, stood: float) -> tuple[str, ...]:
    texts = []
    if silent:
        texts.append(
            "No inspection, visit or lay-up is recorded: due today."
            if np.isnan(start)
            else f"No inspection is recorded: reckoned from {spoken(start)}."
        )
    if np.isnan(stood):
        texts.append("How long it has stood is not known: every part is listed.")
    return tuple(texts)
