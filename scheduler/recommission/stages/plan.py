"""Which stages and checks a car needs, by how long it stood and how it was put away."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

from scheduler.recommission.stages.begin import BEGIN
from scheduler.recommission.stages.chassis import CHASSIS
from scheduler.recommission.stages.engine import ENGINE
from scheduler.recommission.stages.machine import QUESTION, Machine, fitted, unknown_parts
from scheduler.recommission.stages.results import Result
from scheduler.recommission.stages.road import ROAD
from scheduler.recommission.stages.running import RUNNING
from scheduler.recommission.stages.steps import Check, Number, Stage
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput
from scheduler.vocabulary.units import DAYS_PER_MONTH, DAYS_PER_YEAR

STAGES: tuple[Stage, ...] = BEGIN + ENGINE + RUNNING + CHASSIS + ROAD
ORDER: dict[str, int] = {stage.key: i for i, stage in enumerate(STAGES)}
CHECKS: dict[str, Check] = {check.key: check for stage in STAGES for check in stage.checks}

# What a short, well-prepared rest is spared (the bands are our own choice, the facts the trade's).
SPARED = frozenset(["R7"])
OLD_FUEL = Constant(3 * DAYS_PER_MONTH, "days", "fuel older than 3 months: auxiliary supply", Standing.POLICY)
Handbook = Mapping[str, tuple[float, float]]


class Dormancy(StrEnum):
    """How long it stood, as the plan reckons."""

    UP_TO_1 = "up to 1 year, known preparation"
    FROM_1 = "1 to 3 years"
    FROM_3 = "3 to 10 years"
    FROM_10 = "10 to 20 years"
    FROM_20 = "20 years and more, or unknown"


YEARS: dict[Dormancy, float] = dict(zip(Dormancy, (0.0, 1.0, 3.0, 10.0, 20.0), strict=True))
EXTRA: dict[Dormancy, str] = {
    Dormancy.UP_TO_1: "Presume battery, tyre pressures, stuck brakes or clutch.",
    Dormancy.FROM_1: "Presume stale fuel, gummed carburettor, surface rust in the bores, brake fluid due.",
    Dormancy.FROM_3: "Presume varnish in the tank, sticking cylinders, suspect hoses, a hard diaphragm.",
    Dormancy.FROM_10: "Presume stuck valves and rings, pump seal, life-expired tyres, gnawed wiring; all "
    "rubber new.",
    Dormancy.FROM_20: "Presume that nothing works: two people, stop rules absolute, core plugs, old linings.",
}


def dormancy(longest_days: float | None, known_preparation: bool) -> Dormancy:
    """The band of the longest standing time that the evidence allows; None is unknown, so the longest.

    BadInput: days below nought.

    >>> dormancy(400.0, known_preparation=False).name
    'FROM_1'
    >>> dormancy(400.0, known_preparation=True).name
    'FROM_1'
    """
    if longest_days is None:
        return Dormancy.FROM_20
    if not longest_days >= 0:
        raise BadInput("longest_days", "must be zero or above")
    years = longest_days / DAYS_PER_YEAR
    band = max((band for band in Dormancy if YEARS[band] <= years), key=YEARS.__getitem__)
    return Dormancy.FROM_1 if band is Dormancy.UP_TO_1 and not known_preparation else band


@dataclass(frozen=True)
class Plan:
    """The plan of one car: its band, what that presumes, and its stages in order."""

    dormancy: Dormancy
    presume: str
    stages: tuple[Stage, ...]
    machine: Machine = field(default_factory=Machine)

    @property
    def checks(self) -> tuple[Check, ...]:
        """Every check in order."""
        return tuple(check for stage in self.stages for check in stage.checks)


def plan_for(
    band: Dormancy,
    fuel_age_days: float | None = None,
    handbook: Handbook | None = None,
    machine: Machine | None = None,
    settling: Collection[str] = (),
) -> Plan:
    """The staged plan of one machine; without ``machine`` the steps of all, and no question.

    ``handbook`` gives (low, high) by check, in the check's own unit; ``settling`` names checks that settle
    a result which holds for now only: they are asked however short it stood.

    BadInput: values for a check that measures nothing.

    >>> diesel = plan_for(Dormancy.FROM_3, machine=Machine(fuel="diesel"))
    >>> {"points_closed", "spark", "carburettor_clean"} & {check.key for check in diesel.checks}
    set()
    """
    own = handbook or {}
    measured = {key for key, check in CHECKS.items() if isinstance(check.judge, Number)}
    if strange := sorted(set(own) - measured):
        raise BadInput("handbook", f"{', '.join(strange)}: no check with a measured value has that name")
    keys = frozenset(ORDER) if band is not Dormancy.UP_TO_1 else _short(fuel_age_days)
    asked = [stage for stage in STAGES if stage.key in keys]
    stages = tuple(_cut(stage, keys, YEARS[band], own, machine, settling) for stage in asked)
    return Plan(band, EXTRA[band], stages, machine or Machine())


def settling(results: Iterable[Result]) -> frozenset[str]:
    """The checks that settle what holds for now only, among these results."""
    kept = (CHECKS[result.check] for result in results if result.value in CHECKS[result.check].temporary)
    return frozenset(check.temporary_until for check in kept)


def _short(fuel_age_days: float | None) -> frozenset[str]:
    old = fuel_age_days is None or fuel_age_days > OLD_FUEL.value
    return frozenset(ORDER) - (SPARED if old else SPARED | {"R8"})


def _cut(
    stage: Stage,
    keys: frozenset[str],
    years: float,
    own: Handbook,
    machine: Machine | None,
    settling: Collection[str],
) -> Stage:
    """The stage as this car needs it; it waits for the questions on which a step of it hangs."""
    due = [check for check in stage.checks if check.from_years <= years or check.key in settling]
    known = due if machine is None else [check for check in due if _asked(check, machine)]
    checks = tuple(_with_own(check if machine is None else fitted(check, machine), own) for check in known)
    after = tuple(key for key in stage.after if key in keys)
    if machine is not None and any(machine.has(check.kind) is None for check in due) and "R0" not in after:
        after = ("R0", *after)
    return replace(stage, after=after, checks=checks)


def _asked(check: Check, machine: Machine) -> bool:
    if check.key.startswith(QUESTION):
        return check.key.removeprefix(QUESTION) in unknown_parts(machine)
    return machine.has(check.kind) is True


def _with_own(check: Check, own: Handbook) -> Check:
    if check.key not in own or not isinstance(check.judge, Number):
        return check
    return replace(check, judge=check.judge.with_handbook(*own[check.key]))
