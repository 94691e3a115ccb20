"""The inputs, equations and sources behind one battery's dates, with its own numbers put in."""

import numpy as np

from scheduler.duties.battery.charge.case import Case
from scheduler.duties.battery.charge.evidence import CHARGE, GRAVITY, KINDS, PART
from scheduler.duties.windows import Input, Source, Step
from scheduler.duties.words import known_day, number, spoken
from scheduler.physics.battery import (
    ageing,
    charge_state,
    charging,
    discharge,
    freezing,
    hydrogen,
    sulphation,
)
from scheduler.physics.battery.drains import DRAINS
from scheduler.physics.materials import at
from scheduler.vocabulary.constants import Constant

MENTIONED = 0.995  # of what age has left: what sulphate has taken so far is told from here down


def inputs(case: Case) -> tuple[Input, ...]:
    """What went in and where each came from."""
    pack, place = case.state.pack, case.fleet.places[int(case.fleet.place[0])].name

    def basis(name: str, recorded: str) -> str:
        return "assumed" if pack.assumed[name][0] else recorded

    until = case.due if np.isfinite(case.due) else case.today
    return (
        Input("battery", case.battery.label, "", basis("kind", "record")),
        Input("nominal voltage", float(pack.nominal_v[0]), "V", basis("volts", "record")),
        Input("rated capacity", round(case.rated_ah, 1), "Ah", basis("capacity", "record")),
        Input("share of it left by age", round(float(pack.health[1, 0]), 3), "1", basis("age", "record")),
        Input(
            "key-off drain",
            round(case.drain_ma, 1),
            "mA",
            "learned" if case.state.drawn_on[0] else basis("drain", "record"),
        ),
        _start(case),
        Input(f"mean temperature, {place}", round(case.mean_c(until), 1), "°C", "climate"),
        Input("recharge at", case.policy.recharge_soc, "of full", "policy"),
        Input("sulphation harm below", case.policy.sulphation_soc, "of full", "policy"),
    )


def _start(case: Case) -> Input:
    day = known_day(case.start)
    if case.floating:
        return Input("last known good on its maintainer", "full", "", "care log", day)
    kind, level = int(case.state.kind[0]), round(float(case.state.soc[0]), 3)
    if kind < 0:
        return Input("state of charge", level, "of full", "assumed", day)
    return Input(
        KINDS[kind], level, "of full", "care log" if KINDS[kind] in (CHARGE, PART) else "reading", day
    )


def steps(case: Case) -> tuple[Step, ...]:
    """The equations in the order in which they are used."""
    shown = [_level(case), _running_down(case), _wear(case), _sulphate(case)]
    if case.battery.lead:
        shown.append(_frost(case))
    shown += [_time(case), _air(case) if case.battery.lead else None, _float(case)]
    return tuple(step for step in shown if step is not None)


def _level(case: Case) -> Step | None:
    """How the newest reading became a state of charge."""
    kind, newest = int(case.state.kind[0]), int(case.state.newest[0])
    if kind < 0 or KINDS[kind] in (CHARGE, PART) or case.floating:
        return None
    shown = float(case.state.events.shown[newest])
    text = f"with what was foretold {number(case.state.soc[0] * 100)} % ± {number(case.state.sd[0] * 100)} %"
    if KINDS[kind] == GRAVITY:
        rule = "SG80 = SG + 0.00072 (T − 26.67), then the table of its fill"
        return Step("Hydrometer to charge", rule, f"SG {number(shown, 3)}; {text}")
    rule = "V80 = V · 12 / V_nominal − shift(T), then the table of its kind"
    return Step("Rested volts to charge", rule, f"{number(shown, 2)} V; {text}")


def _running_down(case: Case) -> Step:
    until = case.due if np.isfinite(case.due) else case.today
    rates = case.state.rates.case(1)
    worn, days = case.factor_until(until), until - case.start
    return Step(
        "Running down",
        "S(t) = S₀ − r · K(t)/30 − 24 I (t − t₀)/C,  K = ∫ exp(−Ea/R (1/T − 1/298.15)) dt",
        f"{number(case.dates.soc[1, 0] * 100)} % − {number(rates.self_30d[0] * 100, 1)} % × "
        f"{number(worn, 1)} d/30 − {number(rates.drain[0] * 100, 2)} %/d × {number(days, 1)} d = "
        f"{number(case.soc_on(until) * 100)} % on {spoken(until)}",
    )


def _wear(case: Case) -> Step:
    life = case.battery.life
    return Step(
        "Worn by age",
        "health = 1 − 0.2 · age / life(T),  life halves each 8 K above 25 °C",
        f"life {number(life.value, 1)} years at 25 °C: {number(case.rated_ah)} Ah × "
        f"{number(case.state.pack.health[1, 0], 2)}{_hardened(case)} = {number(case.capacity_ah)} Ah",
    )


def _hardened(case: Case) -> str:
    left = float(case.state.pack.unhardened[1, 0])
    return f" × {number(left, 2)} left by sulphate" if left < MENTIONED else ""


def _sulphate(case: Case) -> Step | None:
    if not case.battery.lead:
        return None
    weeks = float(case.state.hardened.today[0])
    low, likely, high = (number(loss * 100) for loss in case.lasting_loss)
    return Step(
        "Sulphation clock",
        "H = ∫ ((0.8 − S)/0.8)² 2^((T − 25)/10) dt / 7,  lasting loss L = 1 − exp(−H/H₀)",
        f"{number(weeks, 1)} weeks as hard as flat at 25 °C, H₀ {number(case.battery.hardens.value)} weeks: "
        f"{likely} % lost for good ({low} to {high} %), {number(case.comes_back * 100)} % more "
        "until a full charge",
    )


def _frost(case: Case) -> Step:
    day = float(case.dates.frost[0])
    when = case.today if np.isnan(day) else day
    soc = case.soc_on(when)
    return Step(
        "Frost",
        "freezing point(S) + margin against the coldest night of each day",
        f"on {spoken(when)} at {number(soc * 100)} % it freezes at "
        f"{number(float(freezing.freezing_point_c(soc)))} °C; "
        + (
            "no night here is so cold"
            if np.isnan(day)
            else f"a night there may come within {number(case.policy.freeze_margin_k)} K of it"
        ),
    )


def _time(case: Case) -> Step:
    soc = case.soc_on(max(case.today, case.start))
    deficit = (1.0 - soc) * case.capacity_ah
    battery, amps = case.battery, case.policy.charger_a
    hours = charging.charge_hours(deficit, amps, battery.charge_factor.value)
    energy = charging.charge_energy_wh(deficit, case.state.pack.nominal_v[0], battery.energy_efficiency.value)
    return Step(
        "Time on charge today",
        "hours = missing Ah · F / A,  energy = missing Ah · V / efficiency",
        f"{number(deficit, 1)} Ah × {battery.charge_factor.value:g} / {amps:g} A "
        f"= {number(float(hours), 1)} h, {number(float(energy))} Wh",
    )


def _cells(case: Case) -> float:
    return case.battery.cells_of_12v * float(case.state.pack.nominal_v[0]) / charge_state.NOMINAL_V


def _air(case: Case) -> Step:
    cells, gas = _cells(case), case.battery.gas_boost.value
    flow = float(hydrogen.ventilation_m3_h(cells, gas, case.rated_ah))
    opening = float(hydrogen.opening_cm2(flow))
    return Step(
        "Fresh air while charging",
        "Q = 0.05 · cells · I_gas · C / 1000,  A = 28 Q",
        f"0.05 × {number(cells)} × {gas:g} mA/Ah × {number(case.rated_ah)} Ah / 1000 = "
        f"{number(flow, 2)} m³/h, openings of {number(opening, 1)} cm² in and out",
    )


def _float(case: Case) -> Step | None:
    volts = case.battery.float_v
    if not case.floating or volts is None:
        return None
    air_c = case.mean_c(case.start + 1)
    held = float(charging.float_volts(volts.value, _cells(case), air_c))
    return Step(
        "Maintainer's volts",
        "V = cells · (V25 − 0.004 (T − 25))",
        f"about {number(held, 2)} V at {number(air_c)} °C",
    )


def sources(case: Case) -> tuple[Source, ...]:
    """Where the numbers come from."""
    battery = case.battery
    cited = [
        _cited("self-discharge", battery.self_discharge),
        _cited("its temperature law", discharge.ACTIVATION_ENERGY),
        Source(f"rested volts: {battery.open_circuit.source}", str(battery.open_circuit.standing)),
        _cited("interval", battery.interval),
        _cited("life", battery.life),
        _cited("worn out", ageing.WORN_OUT),
    ]
    if battery.lead:
        cited += [
            Source(f"freezing: {freezing.SOURCE}", "published"),
            Source(f"sulphation: {sulphation.SOURCE}", "published"),
            _cited("how fast sulphate hardens", battery.hardens),
            _cited("ventilation", battery.gas_boost),
        ]
    if case.state.pack.assumed["drain"][0]:
        cited.append(Source(f"key-off drain: {_drain_source(case)}", "common practice"))
    return tuple(cited)


def _cited(what: str, constant: Constant) -> Source:
    return Source(f"{what}: {constant.source}", str(constant.standing))


def _drain_source(case: Case) -> str:
    likely = at(DRAINS, np.arange(len(DRAINS)), "current")[1]
    row = int(np.abs(likely - case.drain_ma / 1000.0).argmin())
    return DRAINS[row].current.source
