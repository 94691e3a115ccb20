"""Why fuel is due: the same words for page, paper and programme."""

import numpy as np
import numpy.typing as npt

from scheduler.duties.conditions import UNKNOWN, VENTINGS, Fleet
from scheduler.duties.fuel.limits import COLD, ETHANOL_ATTACK, GLASS_FIBRE, LIMITS, SEASON, may_wax
from scheduler.duties.fuel.state import LIKELY, FuelNow
from scheduler.duties.fuel.steps import limit_steps
from scheduler.duties.fuel.tanks import known_venting
from scheduler.duties.windows import DutyWindow, Explanation, Input, Source
from scheduler.duties.words import cited, on_day, spoken
from scheduler.physics.fuel import cold_flow, water
from scheduler.physics.fuel import oxidation as fuel_oxidation
from scheduler.physics.fuel import vapour as fuel_vapour
from scheduler.physics.fuel.fuels import FUELS

Floats = npt.NDArray[np.float64]

VENTING_WORDS = {"open": "an open vent", "capped": "a vented cap", "sealed": "a closed system"}
DRAIN = (
    "Drain it and fill fresh; stabiliser cannot restore it. In the open, no flame or spark, into an "
    "approved can."
)
REMEDIES = {
    GLASS_FIBRE: "Drain it and fill petrol without ethanol: ethanol softens the resin.",
}


def fuel_words(fleet: Fleet, now: FuelNow) -> str:
    """What is in the one tank: "30 L of petrol E10 from 3 Oct 2026 in a closed system"."""
    state = now.state
    venting = VENTING_WORDS[VENTINGS[int(known_venting(fleet)[0])]]
    label = FUELS[int(now.tanks.fuel[0])].label
    about = "" if state.recorded[0] else "about "
    return f"{about}{state.litres[0]:.0f} L of {label} from {spoken(state.filled[0])} in {venting}"


def inputs(fleet: Fleet, now: FuelNow, today: float) -> tuple[Input, ...]:
    """What went into the calculation for one car, and where each value came from."""
    state, tank = now.state, now.tanks
    logged = "care log" if state.recorded[0] else "assumed"
    origin = "assumed" if fleet.fuel[0] == UNKNOWN else "record"
    venting = int(known_venting(fleet)[0])
    start, stop = now.air.index(np.array([state.since[0], today]))
    coldest = float(now.air.coldest_between(LIKELY, tank.place, start, stop)[0])
    return (
        Input("fuel", FUELS[int(tank.fuel[0])].label, "", origin),
        Input("in the tank", round(float(state.litres[0]), 1), "litres", logged, on_day(state.since[0])),
        Input("filled, mean day", on_day(state.filled[0]), "", logged),
        Input("tank", float(tank.litres[0]), "litres", "record" if fleet.tank_litres[0] > 0 else "assumed"),
        Input("venting", VENTINGS[venting], "", "assumed" if fleet.venting[0] == UNKNOWN else "record"),
        Input("ethanol or FAME", round(float(state.bio[0]), 3), "of the volume", logged),
        Input("treated with stabiliser", round(float(state.treated[0]), 2), "of the volume", logged),
        Input("coldest night since", round(coldest, 1), "°C", "climate"),
    )


def assumptions(fleet: Fleet, now: FuelNow) -> tuple[str, ...]:
    """What the record does not say, and what was taken instead."""
    state, tank = now.state, now.tanks
    texts = {
        f"The fuel is not recorded; taken as {FUELS[int(tank.fuel[0])].label}.": fleet.fuel[0] == UNKNOWN,
        "How the tank is vented is not recorded; taken as "
        f"{VENTING_WORDS[VENTINGS[int(known_venting(fleet)[0])]]}.": fleet.venting[0] == UNKNOWN,
        f"The size of the tank is not recorded; taken as {tank.litres[0]:.0f} L.": not (
            fleet.tank_litres[0] > 0
        ),
        f"No filling is recorded; taken as half a tank, there since {spoken(state.filled[0])} or "
        "up to three months older.": not state.recorded[0],
        "Litres or blend of a filling are not recorded; taken as filled to 95 % at the grade's "
        "usual blend.": state.recorded[0] and state.assumed[0],
        "A dose of stabiliser came too late to help and is not counted.": state.wasted[0],
    }
    return tuple(words for words, holds in texts.items() if holds)


def change_reason(fleet: Fleet, now: FuelNow, days: Floats, due: DutyWindow, today: float) -> Explanation:
    """Why one car's fuel is to be changed when it is; ``days`` (limits, 3, 1) as its outlook has them."""
    if not now.state.litres[0] > 0:
        empty = "The tank is empty, so there is no fuel to change."
        return Explanation(empty, inputs(fleet, now, today), (), ())
    return Explanation(
        summary=_summary(fleet, now, due, today) + _of_the_season(now, days, today),
        inputs=inputs(fleet, now, today),
        steps=limit_steps(now, days, today),
        sources=_sources(now),
        assumptions=assumptions(fleet, now),
    )


def _summary(fleet: Fleet, now: FuelNow, due: DutyWindow, today: float) -> str:
    what = fuel_words(fleet, now)
    if np.isnan(due.due[0]):
        return f"{what[0].upper()}{what[1:]}: nothing spoils it within two years here."
    limit, when = LIMITS[int(due.limit[0])], spoken(due.due[0])
    if due.due[0] <= today:
        return f"{what[0].upper()}{what[1:]}: {limit} since {when}. {REMEDIES.get(int(due.limit[0]), DRAIN)}"
    return f"{what[0].upper()}{what[1:]} is fit until about {when}; {limit} comes first."


def _of_the_season(now: FuelNow, days: Floats, today: float) -> str:
    """What passes with the season, and asks for no change: summer E85 in winter, diesel in the cold."""
    waxing = days[COLD, LIKELY, 0]
    if days[SEASON, LIKELY, 0] <= today:
        return " Expect hard starts until winter blend is in the tank."
    if waxing > today:
        begins = f" From {spoken(waxing)} a cold night may wax it"
        return f"{begins}: before then fill winter diesel on what little is left, or put an additive in."
    if may_wax(now, today)[0]:
        return (
            " A cold night may wax it: start it once tank and filter are warm; never heat them with a flame."
        )
    return ""


def _sources(now: FuelNow) -> tuple[Source, ...]:
    fuel, vented = FUELS[int(now.tanks.fuel[0])], bool(now.tanks.vented[0])
    shared = [
        cited(fuel_oxidation.Q10),
        cited(fuel.life_capped if vented else fuel.life_sealed),
        cited(fuel_oxidation.CALENDAR_CAP_MONTHS),
    ]
    if now.tanks.diesel[0]:
        constants = [water.DIESEL_LIMIT_MG_KG, cold_flow.SUMMER_CFPP_C, cold_flow.WINTER_CFPP_C]
    else:
        constants = [
            fuel_vapour.MOLAR_MASS_G,
            fuel_vapour.PRESSURE_EXPONENT,
            fuel_vapour.FLOOR_KPA,
            water.TOLERANCE_PER_K,
            water.TOLERANCE_E0_PCT,
            water.SCATTER_FACTOR,
        ]
    if now.tanks.glass_fibre[0]:
        constants.append(ETHANOL_ATTACK)
    return tuple(shared + [cited(constant) for constant in constants])
