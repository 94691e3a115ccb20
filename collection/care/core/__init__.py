"""What the core knows about recommissioning as choices and words for forms, pages and the care log."""

from math import inf, isinf, nan
from typing import Any

from collection.web.units import Edge
from scheduler.condition.outlook import CONDITIONS
from scheduler.condition.systems import SYSTEMS
from scheduler.dating.events import Event
from scheduler.dating.kinds import Dated, EvidenceKind
from scheduler.dating.kinds_table import EVIDENCE_KINDS
from scheduler.dating.odometer import MOST_KM
from scheduler.faults.model import Probe, Tree, for_volts
from scheduler.faults.table import TREES
from scheduler.recommission.permissions import HAZARDS, stops_from
from scheduler.recommission.stages.machine import Machine, fitted
from scheduler.recommission.stages.plan import CHECKS, STAGES
from scheduler.recommission.stages.results import Result, grade, in_own_unit
from scheduler.recommission.stages.steps import Answer, Check, Number, Stage
from scheduler.recommission.tags import Permission
from scheduler.vocabulary.errors import BadInput
from scheduler.vocabulary.units import UNITS, Unit

__all__ = ["MOST_KM", "Check", "EvidenceKind", "Number", "Probe", "Stage", "Tree", "for_volts"]

Choices = list[tuple[str, str]]
CARE_SET_UP = "regime_chosen"  # the last check: answered by ending the recommissioning, never by hand


def evidence_kinds() -> dict[str, EvidenceKind]:
    """Every kind of evidence by its name."""
    return EVIDENCE_KINDS


def evidence_fields(kind: EvidenceKind) -> frozenset[str]:
    """Which columns of the evidence table a form for this kind asks for."""
    asks: set[str] = set()
    coded = kind.dated in (Dated.TYRE_CODE, Dated.BATTERY_CODE)
    if coded:
        asks |= {"code"}
    elif kind.dated not in (Dated.FIXED, Dated.NEVER) and (kind.claims or kind.stated):
        asks |= {"on", "until"}
    if kind.dated is Dated.RINGS:
        asks |= {"count"}
    if kind.name.startswith("odometer") or kind.name == "inspection_pass":
        asks |= {"odometer_km"}
    if kind.stated:
        asks |= {"event"}
    return frozenset(asks)


def events() -> Choices:
    """The four last events."""
    return [(event.value, event.value.capitalize()) for event in Event]


def systems() -> dict[str, str]:
    """Every system of a car: name and words."""
    return {system.name: system.label for system in SYSTEMS}


def conditions() -> Choices:
    """What hastens or spares trouble, as a person may tick it."""
    return [(name, name.capitalize()) for name in CONDITIONS]


def hazards() -> dict[str, str]:
    """Things seen at the car that take a permission away: name and words."""
    return {name: words for name, (_, words) in HAZARDS.items()}


def stages() -> tuple[Stage, ...]:
    """Every stage of the longest plan."""
    return STAGES


def checks() -> dict[str, Check]:
    """Every check of the longest plan."""
    return CHECKS


def check_at(key: str, volts: int | None) -> Check:
    """One check with the values of a car's volts, where they are known."""
    return fitted(CHECKS[key], Machine(volts=volts))


def is_by_hand(check: str) -> bool:
    """Whether a step's result is typed at the car."""
    return check in CHECKS and check != CARE_SET_UP


def is_fault_test(subject: str) -> bool:
    """Whether ``symptom/test`` names a test that a search asks for, or once did."""
    symptom, _, test = subject.partition("/")
    return symptom in TREES and TREES[symptom].knows(test)


def check_words() -> dict[str, str]:
    """Every check as the care log names it."""
    return {key: f"{check.stage}, {check.do}" for key, check in CHECKS.items()}


def measured_checks() -> dict[str, Check]:
    """The checks that a car's handbook may set values for."""
    return {key: check for key, check in CHECKS.items() if isinstance(check.judge, Number)}


def why_asked(check: Check) -> str:
    """Why a step is asked of this car, "" where every car is asked."""
    if check.by_volts:
        return "The values are those of this car's volts" + (
            " and generator." if check.kind == "generator" else "."
        )
    return f"Asked because of its build: {check.kind}." if check.kind else ""


def is_measured(check: Check) -> bool:
    """Whether the check takes a number, not an answer."""
    return isinstance(check.judge, Number)


def units_of(check: Check) -> list[str]:
    """The units in which a measured check may be typed, its own first."""
    own = check.judge.unit if isinstance(check.judge, Number) else ""
    return [unit.name for unit in UNITS.get(own, (Unit(name=own),))]


def condition_of(check: Check) -> str:
    """The condition that moves the limits: temp_c, altitude_m or none."""
    shift = check.judge.shift if isinstance(check.judge, Number) else None
    return shift.condition if shift else ""


def answers_of(check: Check) -> Choices:
    """The answers to choose from, with what each is worth."""
    if not isinstance(check.judge, Answer):
        return []
    judge = check.judge
    graded = (("passes", judge.passes), ("caution", judge.cautions), ("stop", judge.stops))
    return [(word, f"{word[:1].upper()}{word[1:]}: {worth}") for worth, words in graded for word in words]


def limits(check: Check, edge: Edge) -> list[tuple[str, str]]:
    """What passes, what is watched and what stops, in words and the person's units."""
    judge = check.judge
    if isinstance(judge, Answer):
        groups = [("Passes", judge.passes), ("Caution", judge.cautions), ("Stop", judge.stops)]
        return [(name, ", ".join(words)) for name, words in groups if words]
    own_only = isinf(judge.pass_low) and judge.pass_low > 0
    passes = (
        "by the car's own handbook only" if own_only else _range(judge.pass_low, judge.pass_high, judge, edge)
    )
    numbers = [("Passes", passes)]
    if not (isinf(judge.caution_low) and judge.caution_low > 0):
        numbers.append(("Caution", _range(judge.caution_low, judge.caution_high, judge, edge)))
    return [*numbers, ("Stop", "anything else")]


def _range(low: float, high: float, judge: Number, edge: Edge) -> str:
    unit = edge.unit(judge.unit)
    if low == high:
        return unit.format(low, ".3g")
    if isinf(low):
        return f"up to {unit.format(high, '.3g')}"
    if isinf(high):
        return f"{unit.format(low, '.3g')} or more"
    return f"{unit.from_si(low):.3g} to {unit.format(high, '.3g')}"


def stop_rule(check: Check, edge: Edge) -> dict[str, Any]:
    """What stops, for a phone without a signal: the answers, or the ranges that do not, None being open.

    The ranges are in the check's own unit, with what to multiply each unit typed by; a condition that is
    typed along moves them as it does at the site.
    """
    judge = check.judge
    if isinstance(judge, Answer):
        return {"answers": list(judge.stops)}
    bands = ((judge.pass_low, judge.pass_high), (judge.caution_low, judge.caution_high))
    ranges = [[_end(low), _end(high)] for low, high in bands if low != inf]
    units = {unit.name: unit.factor for unit in UNITS.get(judge.unit, (Unit(name=judge.unit),))}
    magnitude = judge.unit == "V"  # positive earth turns the sign, no more
    return {"ranges": ranges, "units": units, "shift": _moves(judge, edge), "magnitude": magnitude}


def _end(limit: float) -> float | None:
    return None if isinf(limit) else limit


def _moves(judge: Number, edge: Edge) -> dict[str, Any] | None:
    """By which field the ranges move, how what is typed there is read, and how far they move."""
    shift = judge.shift
    if shift is None:
        return None
    field = next(name for name, condition in KEPT_AS.items() if condition == shift.condition)
    typed = edge.unit("°C" if field == "temperature_c" else "m")
    scale = {"nought": typed.to_si(0.0), "one": typed.factor}
    return {"field": field, "at": shift.at, "by": shift.by, "unknown": shift.unknown} | scale


def revoked_by(check: Check) -> list[tuple[int, str]]:
    """Which permissions a stop at this check takes away: number and words."""
    first = stops_from(check.stage)
    return [(int(one), one.label) for one in Permission if first is not None and one >= first]


def trees() -> dict[str, Tree]:
    """Every fault tree by its symptom."""
    return TREES


def result_faults(details: dict[str, Any]) -> list[tuple[str, str]]:
    """What is wrong with a step's result, by field; the limits of the log have been looked at before."""
    check = CHECKS.get(details["check"])
    if check is None:
        return [("check", "There is no such step in the plan.")]
    given = [key for key in ("value", "answer", "could_not") if details.get(key) is not None]
    wanted = "value" if is_measured(check) else "answer"
    if len(given) != 1 or given[0] not in (wanted, "could_not"):
        return [(wanted, f"Give the {wanted}, or say why it could not be done: one of the two.")]
    try:
        grade(check, result_of(details))
    except BadInput as fault:
        return [("unit" if fault.argument == "unit" else wanted, f"It {_after(fault)}.")]
    return []


def _after(fault: BadInput) -> str:
    return str(fault).partition(": ")[2]


def result_of(details: dict[str, Any], **given: Any) -> Result:
    """A step's details as the core's result; ``given`` may give at, by and note."""
    value = details.get("value", details.get("answer"))
    conditions = {key: details[name] for name, key in KEPT_AS.items() if details.get(name) is not None}
    note = given.pop("note", "") or details.get("could_not", "")
    return Result(
        details["check"],
        given.pop("at", None),
        None if value is None else _typed(value),
        details.get("unit", ""),
        details.get("instrument", ""),
        conditions,
        note=note,
        **given,
    )


def own_value(details: dict[str, Any]) -> float:
    """The value of a measured result in its check's own unit."""
    value = in_own_unit(CHECKS[details["check"]], result_of(details))
    return float(value) if isinstance(value, int | float) else nan


KEPT_AS = {"temperature_c": "temp_c", "altitude_m": "altitude_m"}


def _typed(value: float | str) -> float | str:
    return value if isinstance(value, str) else float(value)


def test_words(details: dict[str, Any]) -> list[tuple[str, str]]:
    """A fault test as the care log tells it."""
    tree = TREES[details["symptom"]]
    if details.get("begun"):
        return [("Fault", tree.label), ("Search", "begun anew")]
    do, came_out = tree.words_of(details["test"], details.get("outcome", ""))
    last = ("Came out", came_out) if came_out else ("Could not be done", details.get("could_not", ""))
    return [("Fault", tree.label), *((name, for_volts(words, None)) for name, words in (("Test", do), last))]


def test_faults(details: dict[str, Any]) -> list[tuple[str, str]]:
    """What is wrong with a fault test, by field."""
    tree = TREES.get(details["symptom"])
    if tree is None:
        return [("symptom", f"There is no such fault: use one of {', '.join(TREES)}.")]
    if details.get("begun"):
        return []
    test = details.get("test") or ""
    if not tree.knows(test):
        return [("test", "There is no such test for this fault.")]
    outcomes = tree.outcomes_of(test)
    if (details.get("outcome") in outcomes) == bool(details.get("could_not")):
        return [("outcome", "Choose what came out, or say why it could not be done.")]
    return []
