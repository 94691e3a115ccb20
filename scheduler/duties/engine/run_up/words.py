"""Why one car is to be run up then, how long and how hard, and why a short idle is no substitute."""

import numpy as np

from scheduler.duties.conditions import REGIMES, UNKNOWN, Fleet
from scheduler.duties.crossings import total_at
from scheduler.duties.engine.run_up.window import (
    HOLDS,
    LIMITS,
    PACE,
    Floats,
    last_warm,
    to_drive_out,
    wet_days,
    window,
)
from scheduler.duties.fuel.tanks import known_fuel
from scheduler.duties.policy import Policy
from scheduler.duties.windows import NOT_HELD, Band, DutyWindow, Explanation, Input, Level, Source, Step
from scheduler.duties.words import cited, counted_days, number, on_day, one_car, spoken
from scheduler.physics.air.damp import WET_ABOVE_RH_PCT
from scheduler.physics.engine import carbon_monoxide
from scheduler.physics.engine import run_up as warming
from scheduler.physics.fuel import dose as fuel_dose
from scheduler.physics.fuel.fuels import FUELS

SHORT_IDLE_MIN = 10.0
STANDBY = Source(
    "US Army TM 9-6115-464-12, para 2-13: standby engines at least every 30 days, to temperature", "published"
)
CYCLE = Source(
    "US Army TM 9-2330-389-14&P, table 4-4: one major exercise, 25 miles (40 km) or more, in 24 weeks",
    "published",
)
MUSEUM = Source("a transport museum's running collection, 2012: every 3 weeks", "published")
PACE_SOURCE = Source("wet hours allowed between runs, and the limits for damp and dry places", "policy")


def explain(fleet: Fleet, today: float, policy: Policy) -> Explanation:
    """Why this one car is to be run up then, or why not."""
    when = window(one_car(fleet), today, policy)
    last, _ = last_warm(fleet, today, policy)
    steps = (_pace_step(fleet, last, when, today, policy), *_warming_steps(fleet, today, policy))
    return Explanation(
        summary=_summary(fleet, when, today, policy),
        inputs=_inputs(fleet, last, today),
        steps=(*steps, _idle_step(fleet), _monoxide_step()),
        sources=_sources(),
        assumptions=_assumptions(fleet, last),
    )


def band(fleet: Fleet, days: Floats, policy: Policy) -> Band:
    """Wet hours since the last fully warm run over ``days`` (d,), up to the latest date, for one car.

    Low and high show an engine that bears damp well or badly, as the early and late dates do.
    """
    last, _ = last_warm(one_car(fleet), float(days[-1]), policy)
    wet = wet_days(fleet, float(last[0]), last, float(days[-1]), policy)
    start, first = np.maximum(last, wet.first_day), float(wet.first_day)
    row = np.zeros(len(days), np.int64)
    hours = total_at(wet.total, row, first, days) - total_at(wet.total, row[:1], first, start)
    hours = np.where(days >= start, hours, np.nan)
    low, likely, high = (hours / pace for pace in reversed(PACE))
    levels = (Level("wet hours allowed", policy.run_up_wet_hours),)
    return Band("wet hours since the last warm run", "h", days, low, likely, high, levels)


def _air_c(fleet: Fleet, today: float) -> float:
    place = fleet.places[int(fleet.place[0])]
    return float(place.mean_c[int(today) - place.first_day])


def _drive_minutes(fleet: Fleet, today: float, policy: Policy) -> float:
    flow = fuel_dose.DRIVE_ML_PER_MIN.value
    return float(warming.warm_up_minutes(_air_c(fleet, today), flow, policy.run_up_oil_c))


def _summary(fleet: Fleet, when: DutyWindow, today: float, policy: Policy) -> str:
    if when.hold[0] != NOT_HELD:
        reason = HOLDS[int(when.hold[0])]
        return f"Not to be run up now: {reason}. Otherwise due {spoken(when.due[0])}."
    minutes = _drive_minutes(fleet, today, policy) + policy.run_up_hold_minutes
    return (
        f"Due a fully warm run {spoken(when.due[0])}: {LIMITS[int(when.limit[0])]}. From "
        f"{number(round(_air_c(fleet, today)))} °C allow about {minutes:.0f} min of driving; a short idle "
        f"does harm and does not count. {_where(fleet)}"
    )


def _where(fleet: Fleet) -> str:
    if to_drive_out(fleet)[0]:
        return "Exhaust cannot be led outside here: doors open, drive it out at once, warm it up outside."
    return "Outdoors, or with the exhaust led outside."


def _inputs(fleet: Fleet, last: Floats, today: float) -> tuple[Input, ...]:
    place = fleet.places[int(fleet.place[0])]
    known = not np.isnan(fleet.last_full_warm[0])
    regime = int(fleet.regime[0])
    return (
        Input("regime", "not recorded" if regime == UNKNOWN else REGIMES[regime], "", "record"),
        Input("last fully warm run", on_day(last[0]), "", "care log" if known else "assumed"),
        Input("air today, mean", round(_air_c(fleet, today), 1), "°C", "climate", on_day(today)),
        Input("shelter", place.shelter.replace("_", " "), "", "record"),
        Input("exhaust extraction at the bay", "yes" if fleet.extraction[0] else "no", "", "record"),
    )


def _assumptions(fleet: Fleet, last: Floats) -> tuple[str, ...]:
    texts = {
        f"No fully warm run is recorded; counted from {spoken(last[0])}.": np.isnan(fleet.last_full_warm[0]),
        "The care regime is not recorded.": fleet.regime[0] == UNKNOWN,
        "The engine is taken as a middling one of 2 litres.": True,
    }
    return tuple(words for words, holds in texts.items() if holds)


def _pace_step(fleet: Fleet, last: Floats, when: DutyWindow, today: float, policy: Policy) -> Step:
    wet = wet_days(fleet, float(last[0]), last, today, policy)
    ends = np.array([max(last[0], wet.first_day), max(today, wet.first_day)])
    hours = np.diff(total_at(wet.total, np.zeros(2, np.int64), float(wet.first_day), ends))[0]
    return Step(
        "damp since the last warm run",
        "hours with RH > 80 % and T > 0 °C, against those allowed; "
        f"not before {policy.run_up_damp_days:.0f} nor after {policy.run_up_dry_days:.0f} days",
        f"{hours:.0f} of {policy.run_up_wet_hours:.0f} wet hours in {counted_days(today - last[0])}: "
        f"due {spoken(when.due[0])}, at the latest {spoken(when.late[0])}",
    )


def _warming_steps(fleet: Fleet, today: float, policy: Policy) -> tuple[Step, Step]:
    air, target = _air_c(fleet, today), policy.run_up_oil_c
    idle = fuel_dose.IDLE_ML_PER_MIN.value
    idle_min = float(warming.warm_up_minutes(air, idle, target))
    levels = float(warming.steady_oil_c(air, idle))
    idling = f"levels out near {levels:.0f} °C" if np.isinf(idle_min) else f"{idle_min:.0f} min"
    drive, hold = _drive_minutes(fleet, today, policy), policy.run_up_hold_minutes
    return (
        Step(
            "minutes to drying temperature",
            "t = −(C/k) ln(1 − (T_oil − T_air) k/heat)",
            f"from {number(round(air))} to {target:.0f} °C: {drive:.0f} min driving at 60 km/h; "
            f"idling {idling}",
        ),
        Step(
            "the whole run",
            "minutes to temperature + minutes held",
            f"{drive:.0f} + {hold:.0f} = {drive + hold:.0f} min, driven",
        ),
    )


def _idle_step(fleet: Fleet) -> Step:
    per_litre = FUELS[int(known_fuel(fleet)[0])].water_kg_per_l.value
    burnt = SHORT_IDLE_MIN * fuel_dose.IDLE_ML_PER_MIN.value
    made = float(warming.combustion_water_g(burnt, per_litre))
    return Step(
        "water from a short idle",
        "water = fuel burnt × water per litre",
        f"{SHORT_IDLE_MIN:.0f} min × {fuel_dose.IDLE_ML_PER_MIN.value:.1f} mL/min × {per_litre:.3f} g/mL = "
        f"{made:.0f} g, much of it left in engine and silencer while they are below "
        f"{warming.EXHAUST_DEW_POINT_C.value:.0f} °C",
    )


def _monoxide_step() -> Step:
    emission = carbon_monoxide.emission_m3_per_h(
        carbon_monoxide.IDLE_EXHAUST_M3_H.value, carbon_monoxide.CO_SHARE.value
    )
    volume, ceiling = carbon_monoxide.GARAGE_M3.value, carbon_monoxide.CEILING_PPM.value
    seconds = float(carbon_monoxide.seconds_until_ppm(ceiling, emission, volume, 0.0))
    return Step(
        "never idle indoors",
        "t = C V/E",
        f"{ceiling:.0f} ppm of carbon monoxide in {seconds:.0f} s in a closed {volume:.0f} m³ garage "
        "without a catalyst; an open door is not enough. This is a warning, never a permission",
    )


def _sources() -> tuple[Source, ...]:
    constants = (
        WET_ABOVE_RH_PCT,
        warming.CAPACITY_KJ_PER_K,
        warming.LOSS_KW_PER_K,
        warming.DRYING_OIL_C,
        warming.HEATING_VALUE_KJ_PER_ML,
        warming.HEAT_SHARE,
        fuel_dose.IDLE_ML_PER_MIN,
        warming.EXHAUST_DEW_POINT_C,
        carbon_monoxide.CEILING_PPM,
        carbon_monoxide.CO_SHARE,
    )
    return (STANDBY, CYCLE, MUSEUM, PACE_SOURCE, *(cited(constant) for constant in constants))
