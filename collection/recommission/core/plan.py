"""One car's recommissioning: what has failed, the plan with its gates, permissions, cost, baseline."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from collection.care.core import result_of
from collection.life.duties import ASKED, lines_of
from collection.models import CareKind, Entry, HandbookValue, Regime, Vehicle
from collection.recommission.core.outlook import outlooks_of
from collection.recommission.core.standing import Stands, stands
from collection.recommission.queries import RecommissioningRecord
from scheduler.condition import Estimate, Need, estimate_care, needs
from scheduler.condition.estimate import rated
from scheduler.condition.outlook import Stood
from scheduler.condition.outlook import SystemOutlook as Part
from scheduler.dating.events import Event
from scheduler.recommission.aftercare import Aftercare, aftercare
from scheduler.recommission.costs import estimate
from scheduler.recommission.next_act import NextAct, next_act
from scheduler.recommission.permissions import NEEDS, Allowed, Permissions, permissions, unseen
from scheduler.recommission.stages.acts import Act
from scheduler.recommission.stages.gates import OpenTask, StageState, State
from scheduler.recommission.stages.machine import QUESTION, Machine, machine_of
from scheduler.recommission.stages.plan import CHECKS, ORDER, Plan, dormancy, plan_for, settling
from scheduler.recommission.stages.results import Result
from scheduler.recommission.swings import Swing, price_swings
from scheduler.recommission.tags import Permission, Tag
from scheduler.vocabulary.machine import BUILD, answer_of
from scheduler.vocabulary.tags import TAG, TAGGED_PART, Missing

__all__ = [
    "Need",
    "Part",
    "Recommissioning",
    "build_answered",
    "build_recommissioning",
    "hazards_of",
    "needs_of",
    "undone",
]
PRESERVED = "laid up: it is never started"


@dataclass(frozen=True)
class Recommissioning:
    """Everything computed for one car. ``underway``: a dormant car, whose gates all count.

    Its estimate is what is left of the plan; that of a car in care is what is asked for now.
    """

    underway: bool
    standing: Stands
    stood: Stood
    outlook: tuple[Part, ...]
    outlook_before: tuple[Part, ...]  # as it was before anybody looked
    plan: Plan
    states: tuple[StageState, ...]
    open_tasks: tuple[OpenTask, ...]
    permissions: Permissions
    estimate: Estimate
    before: Estimate  # as it would have been reckoned before anybody looked
    due: frozenset[str]  # the duties that fall to be done now
    aftercare: Aftercare
    following: NextAct  # the one thing to do next
    handbook: dict[str, HandbookValue] = field(default_factory=dict)

    @property
    def volts(self) -> int | None:
        """Of its record, else as answered at the car; None where nobody knows."""
        return self.plan.machine.volts

    @property
    def lacking(self) -> list[tuple[str, tuple[str, ...]]]:
        """Each permission that is not given, with the reasons that the ones before it did not have."""
        listed: set[str] = set()
        rows = []
        for one in self.permissions.allowed:
            if not one.given:
                rows.append((one.label, tuple(reason for reason in one.reasons if reason not in listed)))
            listed |= set(one.reasons)
        return rows

    @property
    def is_bounded(self) -> bool:
        """Whether a likely cost can be told: not while nobody knows how long it stood."""
        return not self.underway or self.stood.days[1] is not None


def build_recommissioning(record: RecommissioningRecord, *, today: date) -> Recommissioning:
    """The whole recommissioning of one car from its rows, its duties fresh.

    ValueError where the record cannot be read.
    """
    car = record.vehicle
    standing = stands(car, record.evidence, record.last_uses, today=today)
    all_lines = [] if car.left_on else lines_of(car, today)
    asked = [line for line in all_lines if not line.name]  # own duties tell nothing of its parts
    results = [_result(entry) for entry in record.entries if entry.kind == CareKind.WAKING_RESULT]
    plan = _plan(record, standing.spell(Event.ROAD_USE, today), results, today)
    underway = car.regime == Regime.DORMANT
    gates = permissions(plan, results, _tags(record), hazards_of(record.entries))
    stood, looked, unseen = outlooks_of(record, standing, gates.stages, asked, today=today)
    rates, prices = rated(record.rates)
    due = frozenset(line.duty for line in asked if line.state in ASKED)

    def cost(outlook: Sequence[Part], states: Sequence[StageState]) -> Estimate:
        if underway:
            return estimate(plan, outlook, states, prices)
        return estimate_care(outlook, due, rates, prices, car.tank_litres)

    return Recommissioning(
        underway,
        standing,
        stood,
        looked,
        unseen,
        plan,
        gates.stages,
        gates.open_tasks,
        gates if underway else _in_care(record, plan),
        cost(looked, gates.stages),
        cost(unseen, ()),
        due,
        aftercare(plan, results),
        next_act(plan, gates, _tags(record), hazards_of(record.entries)),
        {row.check_key: row for row in record.handbook},
    )


def needs_of(recommissioning: Recommissioning) -> tuple[Need, ...]:
    """Every system with what it needs next and its share of the estimate."""
    return needs(recommissioning.outlook, recommissioning.due, recommissioning.estimate)


def _in_care(record: RecommissioningRecord, plan: Plan) -> Permissions:
    """A car in care has no gates to pass: its tags and hazards alone count."""
    made = permissions(replace(plan, stages=()), (), _tags(record), hazards_of(record.entries))
    return made if record.known else unseen(made)


def _plan(record: RecommissioningRecord, stood: Stood, results: Sequence[Result], today: date) -> Plan:
    known = bool(record.case and record.case.known_preparation)
    filled = record.fuel.filled_on if record.fuel else None
    age = (today - filled).days if filled else None
    handbook = {row.check_key: (row.low, row.high) for row in record.handbook}
    return plan_for(
        dormancy(stood.longest_days, known),
        age,
        handbook,
        _machine(record, results),
        settling(results),
    )


def _machine(record: RecommissioningRecord, results: Sequence[Result]) -> Machine:
    """What the car is built with: its record first, then the latest answers given at the car.

    What is only usual for its kind is asked: a gate may open by it.
    """
    system = record.vehicle.fuel_system_known
    known: dict[str, str | int | None] = {"volts": record.vehicle.system_volts_known}
    if system:
        known["fuel"] = "diesel" if system == "diesel" else "petrol"
        known["feed"] = None if system == "diesel" else system.replace("_", " ")
    known |= {part.code: answer_of(value) for part in BUILD if (value := getattr(record.vehicle, part.code))}
    answers = {one.check: one.value for one in results if isinstance(one.value, str)}
    return machine_of(known, answers)


def build_answered(vehicle: Vehicle, entries: Sequence[Entry]) -> dict[str, str]:
    """What the plan had to ask of how the car is built, by column of the record, where that is empty."""
    answers = {entry.details["check"]: entry.details.get("answer") for entry in entries}
    return {
        part.code: choice.code
        for part in BUILD
        for choice in part.choices
        if answers.get(QUESTION + part.code) == answer_of(choice.code) and not getattr(vehicle, part.code)
    }


def hazards_of(entries: Sequence[Entry]) -> list[str]:
    """The hazards that were seen and are not gone."""
    last = {e.details["hazard"]: e.details["present"] for e in entries if e.kind == CareKind.HAZARD}
    return [name for name, present in last.items() if present]


def _result(entry: Entry) -> Result:
    return result_of(entry.details, at=entry.done_by_our_clock, by=str(entry.by), note=entry.note)


def _tags(record: RecommissioningRecord) -> list[Tag]:
    tags = [_tag(entry) for entry in record.tags]
    if record.vehicle.regime == Regime.PRESERVED:
        row = TAG["engine_preserved"]
        tags.append(Tag("regime", Permission.CRANK, row.title, PRESERVED, Act(row.acts_from)))
    return tags


def _tag(entry: Entry) -> Tag:
    row = TAG[entry.details["tag"]]
    missing = Missing(row.title, "crank", row.acts_from)
    if row.by_part:
        part = TAGGED_PART[entry.details.get("system") or "engine"]  # the strictest where nobody said it
        missing = getattr(part, row.by_part)
    forbidden = Act(missing.acts_from) if missing.acts_from else None
    return Tag(
        str(entry.pk), Permission[missing.takes.upper()], missing.title, entry.details["where"], forbidden
    )


def swings_of(
    recommissioning: Recommissioning, record: RecommissioningRecord, *, before: bool
) -> tuple[Swing, ...]:
    """The looks that would change the price most, now or as before anybody looked."""
    looked = recommissioning.outlook_before if before else recommissioning.outlook
    states = () if before else recommissioning.states
    _, prices = rated(record.rates)
    return price_swings(recommissioning.plan, looked, states, prices)


def gates_of(permissions: Permissions) -> dict[str, Allowed]:
    """Each permission by the key of the stage that it comes after."""
    return {max(NEEDS[one.permission], key=ORDER.__getitem__): one for one in permissions.allowed}


def undone(recommissioning: Recommissioning, *, but: str) -> list[str]:
    """The checks that keep the car from being signed off, without the one named ``but``."""
    return [
        f"{stage.stage} {stage.title}: {CHECKS[check.check].do} ({check.state})"
        for stage in recommissioning.states
        for check in stage.checks
        if check.check != but and check.state not in (State.PASS, State.CAUTION)
    ]
