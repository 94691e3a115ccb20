"""What a car is built with, as far as it is known, and which steps and values that asks for.

A step names the kind of machine that it is for. Where the record does not tell whether the car is of that
kind, a question comes first and the step waits for its answer. Values for 6 and 24 V follow those for 12 V
by ratio; what charges is judged by generator and volts. Either earth: volts are magnitudes, the meter's
leads go round. All but volts, fuel and feed are rows of ``scheduler.vocabulary.machine``.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace

from scheduler.recommission.stages.steps import Check, Number, Shift

BASE_VOLTS = 12
# Volts at the battery, warm, 1500 to 2000 rpm: pass low, high, caution low, high. Alternators: makers'
# manuals (14.0 ± 0.5 and 28.0 ± 1); dynamos: bands of our own about handbooks' values, compensated control
# tapers.
CHARGING: dict[tuple[str, int], tuple[float, float, float, float]] = {
    ("dynamo", 6): (6.9, 7.5, 6.6, 7.8),
    ("dynamo", 12): (13.2, 15.0, 12.9, 15.6),
    ("dynamo", 24): (26.4, 30.0, 25.8, 31.2),
    ("alternator", 6): (6.9, 7.35, 6.6, 7.5),
    ("alternator", 12): (13.8, 14.7, 13.2, 15.0),
    ("alternator", 24): (27.0, 29.0, 26.4, 30.0),
}


@dataclass(frozen=True)
class Machine:
    """One car's build; None is not known."""

    volts: int | None = None
    fuel: str | None = None
    feed: str | None = None
    ignition: str | None = None
    generator: str | None = None
    cooling: str | None = None
    gearbox: str | None = None
    cam: str | None = None
    gas: str | None = None
    steering: str | None = None
    suspension: str | None = None
    earth: str | None = None

    def has(self, kind: str) -> bool | None:
        """Whether it is of a kind of machine; None where nobody knows, True for "".

        >>> Machine(fuel="diesel").has("points"), Machine().has("dynamo"), Machine().has("")
        (False, None, True)
        """
        if not kind:
            return True
        part, value = KINDS[kind]
        known = getattr(self, part)
        if self.fuel == "diesel" and part in PETROL_ONLY:
            return False
        return None if known is None else value is None or known == value


# Kind of machine as steps and fault trees name it: the part that decides, and its value; None: it must be
# known.
KINDS: dict[str, tuple[str, str | None]] = {
    "volts": ("volts", None),
    "generator": ("generator", None),
    "petrol": ("fuel", "petrol"),
    "diesel": ("fuel", "diesel"),
    "carburettor": ("feed", "carburettor"),
    "mechanical injection": ("feed", "mechanical injection"),
    "electronic injection": ("feed", "electronic injection"),
    "positive earth": ("earth", "positive"),
    "points": ("ignition", "points"),
    "dynamo": ("generator", "dynamo"),
    "alternator": ("generator", "alternator"),
    "water-cooled": ("cooling", "water"),
    "air-cooled": ("cooling", "air"),
    "manual": ("gearbox", "manual"),
    "automatic": ("gearbox", "automatic"),
    "cam belt": ("cam", "belt"),
    "gas": ("gas", "gas fitted"),
    "power steering": ("steering", "power"),
    "hydropneumatic": ("suspension", "hydropneumatic"),
}
PETROL_ONLY = frozenset({"feed", "ignition", "gas"})
PARTS = tuple(field.name for field in fields(Machine))
QUESTION = "is_"  # before the name of a part: the step that asks for it


def machine_of(known: Mapping[str, str | int | None], answers: Mapping[str, str]) -> Machine:
    """A car's build: the record first, then what was answered at the car, by the step that asked."""
    asked = {part: answers.get(QUESTION + part) for part in PARTS}
    volts = asked.pop("volts")
    answered: dict[str, str | int | None] = {**asked, "volts": int(volts.split()[0]) if volts else None}
    return Machine(**{part: known.get(part) or answered[part] for part in PARTS})  # type: ignore[arg-type]


def unknown_parts(machine: Machine) -> tuple[str, ...]:
    """The parts that have to be asked for."""
    skipped = PETROL_ONLY if machine.fuel == "diesel" else frozenset()
    return tuple(part for part in PARTS if getattr(machine, part) is None and part not in skipped)


def fitted(check: Check, machine: Machine) -> Check:
    """The check with the pass values of this machine."""
    if check.by_volts and machine.volts and isinstance(check.judge, Number):
        judge = (
            _charging(check.judge, machine)
            if check.kind == "generator"
            else _scaled(check.judge, machine.volts)
        )
        return replace(check, judge=judge, measure=f"{check.measure}, {machine.volts} V")
    return check


def _charging(judge: Number, machine: Machine) -> Number:
    low, high, watch_low, watch_high = CHARGING[
        machine.generator or "alternator", machine.volts or BASE_VOLTS
    ]
    return replace(judge, pass_low=low, pass_high=high, caution_low=watch_low, caution_high=watch_high)


def _scaled(judge: Number, volts: int) -> Number:
    by = volts / BASE_VOLTS
    shift = judge.shift and Shift(
        judge.shift.condition,
        judge.shift.at,
        tuple(step * by for step in judge.shift.by),
        judge.shift.unknown,
    )
    return Number(
        judge.unit,
        judge.pass_low * by,
        judge.pass_high * by,
        judge.caution_low * by,
        judge.caution_high * by,
        shift,
    )
