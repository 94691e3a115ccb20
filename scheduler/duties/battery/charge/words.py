"""Why one car's battery is due, in words a barn hand understands first."""

import numpy as np

from scheduler.duties.battery.charge.case import Case, case_of
from scheduler.duties.battery.charge.evidence import CHARGE, KINDS, PART, volts_read
from scheduler.duties.battery.charge.holds import HOLDS, UNSOUND
from scheduler.duties.battery.charge.state import spent
from scheduler.duties.battery.charge.verdict import DEAD_AFTER_DAYS
from scheduler.duties.battery.charge.window import CALENDAR, FROST, LIMITS
from scheduler.duties.battery.charge.worked import inputs, sources, steps
from scheduler.duties.conditions import Fleet
from scheduler.duties.learning import NINETY_PERCENT_SD
from scheduler.duties.policy import Policy
from scheduler.duties.windows import NOT_HELD, Explanation
from scheduler.duties.words import number, spoken
from scheduler.physics.battery.charge_state import NOMINAL_V, SOUND_CELL_LEAST_V
from scheduler.physics.battery.charging import LITHIUM_COLDEST_C

GAS_CAUTION = (
    "Charge with air moving and no flame or spark; wear eye protection; the charger off before the clips. "
    "Follow the local code."
)
FROZEN_CAUTION = (
    "A cold night may have frozen it: look for ice or a split case first. Never charge a frozen battery; "
    "thaw it indoors."
)


def explain(fleet: Fleet, today: float, policy: Policy) -> Explanation:
    """Why the charge of a fleet of one falls due when it does."""
    case = case_of(fleet, today, policy)
    return Explanation(
        _held(case) or " ".join([_summary(case), *_look(case), *_cautions(case)]),
        inputs(case),
        steps(case),
        sources(case),
        _assumptions(case),
        _learning(case),
    )


def _held(case: Case) -> str:
    """What to do where a charge is forbidden; else nothing."""
    if case.hold == NOT_HELD:
        return ""
    if case.hold != UNSOUND:
        return f"{HOLDS[case.hold].capitalize()}."
    read = volts_read(case.fleet, case.today)
    cells = case.battery.cells_of_12v * float(case.state.pack.nominal_v[0]) / NOMINAL_V
    return (
        f"It read {number(float(read.value[0]), 2)} V on {spoken(float(read.day[0]))}; sound cells hold "
        f"{number(SOUND_CELL_LEAST_V.value * cells, 1)} V at rest even when flat. A cell is dead, shorted or "
        "reversed, something still draws on it, or it has not rested. Do not charge it yet. Wear eye "
        "protection; look for ice or a split case; take a lead off, let it rest four hours, read it again. "
        "Still below: have it tested and expect to replace it."
    )


def _summary(case: Case) -> str:
    if case.floating:
        return (
            f"On a maintainer, last known good on {spoken(case.start)}: nothing to charge. Look at it by "
            f"{spoken(case.due)}; should its power have failed, harm begins about {spoken(case.late)} "
            f"({_late_limit(case)})."
        )
    if case.today - case.empty_on > DEAD_AFTER_DAYS:
        return (
            f"Nobody has measured it since {spoken(case.start)}; by what is known it has been empty since "
            f"{spoken(case.empty_on)}: expect it dead. Measure it at rest before anything is put on it, look "
            "for ice or a split case, and expect to replace it."
        )
    until = case.due
    sentence = (
        f"At about {number(case.mean_c(until))} °C this {_battery(case)} {_drain(case)} falls from "
        f"{_level(case)} on {spoken(case.start)} to {number(case.soc_on(until) * 100)} % "
        f"on {spoken(until)}"
    )
    if case.soc_on(case.start) <= case.policy.recharge_soc:
        sentence = f"This {_battery(case)} stood at {_level(case)} on {spoken(case.start)}: charge it now"
    elif case.limit == LIMITS[CALENDAR]:
        sentence += (
            "; it is due then because its kind wants refreshing at that interval however little it loses"
        )
    elif case.limit == LIMITS[FROST]:
        sentence += "; it is due then because a cold night could freeze it"
    begins = "began" if case.late <= case.today else "begins"
    return f"{sentence}. Harm {begins} about {spoken(case.late)} ({_late_limit(case)})."


def _look(case: Case) -> list[str]:
    """What else to do where its readings show it."""
    seen = ["Something draws on it: look for it."] if case.state.drawn_on[0] else []
    dead = case.today - case.empty_on > DEAD_AFTER_DAYS  # said already
    if spent(case.state)[0] and not dead:
        left = (1.0 - float(case.lasting_loss[1])) * float(case.state.pack.health[1, 0]) * case.rated_ah
        seen.append(
            f"It has stood low for so long that it likely holds {number(left)} of {number(case.rated_ah)} Ah "
            "even when full: test it under load once charged, and expect to replace it."
        )
    return seen


def _battery(case: Case) -> str:
    return " ".join(part for part in (f"{number(case.rated_ah)} Ah", case.battery.word, "battery") if part)


def _drain(case: Case) -> str:
    return (
        "with nothing drawing on it" if case.drain_ma == 0.0 else f"with a {number(case.drain_ma)} mA drain"
    )


def _level(case: Case) -> str:
    kind, soc = int(case.state.kind[0]), float(case.dates.soc[1, 0])
    after = {CHARGE: " after its charge", PART: " after a part charge or a drive"}
    return f"{number(soc * 100)} %" + (after.get(KINDS[kind], "") if kind >= 0 else "")


def _late_limit(case: Case) -> str:
    """What begins on the late day."""
    days = {
        "sulphate begins to harden": case.dates.sulphation[0],
        "a cold night could freeze it": case.dates.frost[0],
        "far past its interval": case.dates.calendar_late[0],
    }
    known = {name: float(day) for name, day in days.items() if not np.isnan(day)}
    return min(known, key=lambda name: known[name]) if known else "beyond what can be foreseen"


def _cautions(case: Case) -> list[str]:
    if not case.battery.lead:
        return [f"Charge it only at {number(LITHIUM_COLDEST_C.value)} °C or above."]
    frozen = not case.floating and case.dates.frost[0] <= case.today
    return [FROZEN_CAUTION, GAS_CAUTION] if frozen else [GAS_CAUTION]


def _assumptions(case: Case) -> tuple[str, ...]:
    state = case.state
    texts = [*_silences(case), *_odd_low(case)]
    if state.surprise[0] > 0:
        texts.append("The newest reading is higher than a standing battery can be: set aside; was it rested?")
    if state.refused[0]:
        texts.append(
            f"Readings that could not be used (not rested, or not possible): {int(state.refused[0])}."
        )
    return tuple(texts)


def _silences(case: Case) -> list[str]:
    """What the record does not say, and what was taken instead."""
    pack, state = case.state.pack, case.state
    silent = {
        "kind": f"The kind of battery is not recorded: taken as {case.battery.label}, losing "
        f"{number(case.battery.self_discharge.value * 100)} % a month at 25 °C.",
        "capacity": f"Its capacity is not recorded: taken as {number(case.rated_ah)} Ah.",
        "volts": f"Its voltage is not recorded: taken as {number(pack.nominal_v[0])} V.",
        "age": "Its age is not recorded: taken as halfway through its life.",
        "drain": f"The key-off drain is not measured: taken as {number(case.drain_ma)} mA for its age.",
    }
    if state.drawn_on[0]:
        silent.pop("drain")  # its readings tell it
    texts = [text for name, text in silent.items() if pack.assumed[name][0]]
    if state.kind[0] < 0 and not case.floating:
        texts.append(
            f"No charge and no rested reading is recorded: taken as {number(state.soc[0] * 100)} % on "
            f"{spoken(case.start)}. Measure it rested to know."
        )
    if np.isneginf(state.floating_since[0]):
        texts.append("Nobody recorded when it went on its maintainer: look at it now.")
    return texts


def _odd_low(case: Case) -> list[str]:
    """What a reading below all that was expected says."""
    if case.state.maintainer_failed[0]:
        return [
            "It read low while on a maintainer, so that has failed: see to its power, fuse and clips, and "
            "read the battery again the day after."
        ]
    if case.state.drawn_on[0]:
        return [
            f"Its readings say that about {number(case.drain_ma)} mA draw on it, more than the record "
            "or its age tells."
        ]
    if case.state.surprise[0] < 0:
        return ["The newest reading is far below what was expected: look for something drawing on it."]
    return []


def _learning(case: Case) -> tuple[str, ...]:
    learned = case.state.learned
    mean, own = float(learned.mean[0]), case.percent_a_day(1)
    spread = NINETY_PERCENT_SD * float(learned.sd[0]) / mean
    begun = "With what its readings show" if case.state.drawn_on[0] else "Assumed from the tables"
    texts = [f"{begun}: {number(own / mean, 2)} % a day at this place."]
    if learned.readings[0]:
        texts.append(
            f"Learned from this car: {number(own, 2)} % a day, give or take {number(spread * 100)} %."
        )
    texts.append(f"Readings used: {int(learned.readings[0])}.")
    if learned.set_aside[0]:
        texts.append(f"Readings set aside as out of line: {int(learned.set_aside[0])}.")
    return tuple(texts)
