"""The reason for a coolant's date, in words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.duties.conditions import Bools, Fleet, Floats
from scheduler.duties.fluids import (
    Check,
    Fill,
    check_words,
    fill_assumptions,
    fill_input,
    kind_input,
    kind_of,
)
from scheduler.duties.policy import Policy
from scheduler.duties.windows import DutyWindow, Explanation, Input, Source, Step
from scheduler.duties.words import cited, known_day, number, spoken
from scheduler.physics.climate import coldest
from scheduler.physics.fluids.coolant import (
    UNKNOWN_SHARE,
    drain_and_replace_litres,
    frost_margin_k,
    inhibitor_too_thin,
    volume_share_for,
)
from scheduler.physics.fluids.fluids import UNKNOWN_LIFE, FluidKind
from scheduler.physics.fluids.glycols import ASHRAE, GLYCOLS
from scheduler.vocabulary.constants import Standing

YEAR_DAYS = 365
COOLANT_CAUTION = "Never open a hot cap. Coolant is sweet and poisonous: none on ground or in drains."
PER_LITRES = 10.0
NO_FROST = "no such night in sight"
THIN = "Under 30 % there is too little inhibitor whatever its age: strengthen it."


@dataclass(frozen=True)
class Reasons:
    """What one car's limits rest on: strength and its day (NaN: no frost in sight), the fill, the test
    strip."""

    frost: Strength
    frost_due: float
    filled: Fill
    strip: Check


def explanation(fleet: Fleet, today: float, policy: Policy, due: DutyWindow, reasons: Reasons) -> Explanation:
    """Why one car's coolant falls due: two limits, and which comes first."""
    frost, filled = reasons.frost, reasons.filled
    kind, place = kind_of(fleet, "coolant"), fleet.places[int(fleet.place[0])]
    start = max(int(today) - place.first_day, 0)
    cold = float(coldest(place, policy.cold_spell_k)[start : start + YEAR_DAYS].min())
    freezes = float(frost.freezing_c[1, 0])
    return Explanation(
        _summary(fleet, due, freezes, cold) + check_words(reasons.strip, "The test strip", policy),
        (
            kind_input(fleet, "coolant"),
            fill_input(filled),
            _strength_input(fleet, frost),
            Input("coldest night to come", cold, "°C", "climate"),
            Input("margin", policy.coolant_margin_k, "K", "policy"),
        ),
        (
            _life_step(kind, filled),
            _margin_step(cold, freezes, policy),
            *_strengthen(kind, freezes, cold - policy.coolant_margin_k),
            Step("Frost limit", "first night within the margin", spoken(reasons.frost_due, NO_FROST)),
            Step("Caution", "at the radiator", COOLANT_CAUTION),
        ),
        _sources(kind),
        _assumptions(fleet, frost, filled),
    )


def _summary(fleet: Fleet, due: DutyWindow, freezes_c: float, cold_c: float) -> str:
    frozen = f"It freezes at about {number(freezes_c)} °C; nights to come may reach {number(cold_c)} °C."
    first = due.limits[due.limit[0]]
    text = f"{frozen} The {first} comes first: due {spoken(due.due[0])}."
    if inhibitor_too_thin(fleet.coolant_share[0]):
        text += f" {THIN}"
    if due.hold[0] >= 0:
        text += f" Held for now: {due.holds[due.hold[0]]}."
    return text


def _strength_input(fleet: Fleet, frost: Strength) -> Input:
    if not np.isnan(frost.measured_c[0]):
        on = known_day(frost.measured_on[0])
        return Input("freezing point by tester", float(frost.measured_c[0]), "°C", "reading", on)
    if frost.assumed[0]:
        return Input("glycol by volume", 100 * UNKNOWN_SHARE.value, "%", "assumed")
    share = fleet.coolant_share[0]
    return Input("glycol by volume", 0.0 if np.isnan(share) else 100 * float(share), "%", "record")


def _life_step(kind: FluidKind, filled: Fill) -> Step:
    months = number((kind.inhibitor_months or UNKNOWN_LIFE).value)
    return Step(
        "Life of the inhibitor",
        "changed on + months of its technology",
        f"{spoken(filled.likely[0])} + {months} months, in use or standing",
    )


def _margin_step(cold_c: float, freezes_c: float, policy: Policy) -> Step:
    margin = float(frost_margin_k(cold_c, freezes_c))
    worked = (
        f"{number(cold_c, 1)} − ({number(freezes_c, 1)}) = {number(margin, 1)} K; "
        f"act below {number(policy.coolant_margin_k)} K"
    )
    return Step("Frost margin of the coming year", "coldest night − freezing point", worked)


def _strengthen(kind: FluidKind, freezes_c: float, wanted_c: float) -> tuple[Step, ...]:
    """How much to drain and fill, where it is too weak and one table holds both ends of the way."""
    if wanted_c >= freezes_c or kind.glycol not in GLYCOLS:
        return ()
    if wanted_c < GLYCOLS[kind.glycol].freezing_c[-1]:
        return (Step("To strengthen it", "beyond the table's end", "no mixture is known to hold this cold"),)
    have, want = (float(share) for share in volume_share_for([freezes_c, wanted_c], kind.glycol))
    litres = float(drain_and_replace_litres(PER_LITRES, have, want))
    worked = (
        f"of every {number(PER_LITRES)} L drain {number(litres, 1)} L and fill neat: {number(100 * have)} % "
        f"becomes {number(100 * want)} %, good to {number(wanted_c)} °C; test again when mixed"
    )
    return (Step("To strengthen it", "litres × (c₂ − c₁) / (1 − c₁)", worked),)


def _sources(kind: FluidKind) -> tuple[Source, ...]:
    return (
        cited(kind.inhibitor_months or UNKNOWN_LIFE),
        Source(f"{ASHRAE}: freezing point by volume share", Standing.PUBLISHED),
        Source("margin and depth of the cold spell", Standing.POLICY),
    )


def _assumptions(fleet: Fleet, frost: Strength, filled: Fill) -> tuple[str, ...]:
    texts = list(fill_assumptions(fleet, "coolant", filled))
    if frost.beyond_table[0] and np.isnan(frost.measured_c[0]):
        texts.append(
            "The recorded share lies beyond the table's end, where protection falls again: not used."
        )
    if frost.assumed[0]:
        low, likely, high = (number(100 * share) for share in UNKNOWN_SHARE.range)
        texts.append(f"The strength is not known: taken as {likely} % by volume ({low} to {high} %).")
    if frost.refused:
        texts.append(f"{frost.refused} freezing-point reading(s) above 0 or below −60 °C were not used.")
    return tuple(texts)


@dataclass(frozen=True)
class Strength:
    """Freezing point, shape (3, n): weakest, likely, strongest; what it rests on, shape (n,)."""

    freezing_c: Floats
    measured_c: Floats
    measured_on: Floats
    beyond_table: Bools
    assumed: Bools
    refused: int
