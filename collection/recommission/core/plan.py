"""One car's recommissioning: what has failed, the plan with its gates, permissions, cost, baseline."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from collection.care.core import result_of
from collection.models import CareKind, Damp, Entry, HandbookValue, RecommissionPrices, Regime
from collection.recommission.core.standing import Stands, stands
from collection.recommission.queries import RecommissioningRecord
from scheduler.condition.outlook import Finding, Seen, Stood, SystemOutlook, outlook, stood_by
from scheduler.recommission.aftercare import Aftercare, aftercare
from scheduler.recommission.costs import Estimate, Rates, estimate
from scheduler.recommission.next_act import NextAct, next_act
from scheduler.recommission.permissions import NEEDS, Allowed, Permissions, permissions, unseen
from scheduler.recommission.stages.acts import Act
from scheduler.recommission.stages.gates import CheckState, OpenTask, StageState, State
from scheduler.recommission.stages.machine import Machine, machine_of
from scheduler.recommission.stages.plan import CHECKS, ORDER, Plan, dormancy, plan_for, settling
from scheduler.recommission.stages.results import Result
from scheduler.recommission.swings import Swing, price_swings
from scheduler.recommission.tags import Permission, Tag
from scheduler.recommission.work import PROVED_BY
from scheduler.vocabulary.tags import TAG, TAGGED_PART, Missing

# Share of damp days for the words a person chose (policy); not known is the core's own default.
DAMP_SHARE = {Damp.DRY: 0.1, Damp.MIXED: 0.5, Damp.DAMP: 0.9, Damp.UNKNOWN: 0.5}
NEARLY_FULL = 0.9  # of the tank: above it, it does not count as part full (policy)
PRESERVED = "laid up: it is never started"


@dataclass(frozen=True)
class Recommissioning:
    """Everything computed for one car. ``underway``: a dormant car, whose gates all count."""

    underway: bool
    standing: Stands
    stood: Stood
    outlook: tuple[SystemOutlook, ...]
    outlook_before: tuple[SystemOutlook, ...]  # as it was before anybody looked
    plan: Plan
    states: tuple[StageState, ...]
    open_tasks: tuple[OpenTask, ...]
    permissions: Permissions
    estimate: Estimate
    before: Estimate  # as it would have been reckoned before anybody looked
    aftercare: Aftercare
    following: NextAct  # the one thing to do next
    handbook: dict[str, HandbookValue] = field(default_factory=dict)

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


def build_recommissioning(record: RecommissioningRecord, *, today: date) -> Recommissioning:
    """The whole recommissioning of one car from its rows; ValueError where the record cannot be read."""
    car = record.vehicle
    standing = stands(car, record.evidence, record.last_uses, today=today)
    stood = stood_by(standing.time, today, _damp(record), conditions_of(record))
    results = [_result(entry) for entry in record.entries if entry.kind == CareKind.WAKING_RESULT]
    plan = _plan(record, stood, results, today)
    underway = car.regime == Regime.DORMANT
    gates = permissions(plan, results, _tags(record), hazards_of(record.entries))
    looked, unseen = outlook(stood, findings_of(record.entries, gates.stages)), outlook(stood)
    rates = rates_of(record.rates)
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
        estimate(plan, looked, gates.stages, rates),
        estimate(plan, unseen, (), rates),
        aftercare(plan, results),
        next_act(plan, gates, _tags(record), hazards_of(record.entries)),
        {row.check_key: row for row in record.handbook},
    )


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
    """What the car is built with: its record first, then the latest answers given at the car."""
    system = record.vehicle.fuel_system
    known: dict[str, str | int | None] = {"volts": record.vehicle.system_volts}
    if system:
        known["fuel"] = "diesel" if system == "diesel" else "petrol"
        known["feed"] = None if system == "diesel" else system.replace("_", " ")
    answers = {one.check: one.value for one in results if isinstance(one.value, str)}
    return machine_of(known, answers)


def _damp(record: RecommissioningRecord) -> float:
    return DAMP_SHARE[Damp(record.case.damp if record.case else Damp.UNKNOWN)]


def conditions_of(record: RecommissioningRecord) -> frozenset[str]:
    """What the record and the person say about how it stood."""
    car, fuel = record.vehicle, record.fuel
    conditions = set(record.case.conditions) if record.case else set()
    if fuel and fuel.bio_pct and "petrol" in (fuel.grade or "petrol"):
        conditions.add("ethanol")
    if car.tank_venting == "open":
        conditions.add("vented tank")
    if fuel and fuel.litres and car.tank_litres and fuel.litres < NEARLY_FULL * car.tank_litres:
        conditions.add("part full")
    if fuel and fuel.stabilised_on:
        conditions.add("stabilised")
    if car.regime == Regime.PRESERVED:
        conditions.add("preserved")
    if car.regime == Regime.EXERCISED:
        conditions.add("exercised")
    return frozenset(conditions)


def findings_of(entries: Sequence[Entry], states: Sequence[StageState]) -> list[Finding]:
    """What is known of each system: the latest look at it, or the check that proves it, if that is later."""
    looks = {e.details["system"]: e for e in entries if e.kind == CareKind.SYSTEM_SEEN}
    checks = {check.check: check for state in states for check in state.checks}
    proofs = {name: proof for name, key in PROVED_BY.items() if (proof := _proof(checks.get(key)))}
    findings = [
        Finding(name, Seen(look.details["seen"]), look.details.get("text", ""))
        for name, look in looks.items()
        if name not in proofs or look.done_by_our_clock > proofs[name].at
    ]
    known = {finding.system for finding in findings}
    return findings + [
        _proved(name, checks[proof.check]) for name, proof in proofs.items() if name not in known
    ]


def _proof(check: CheckState | None) -> Result | None:
    """The result that tells whether a system is good; a caution or a result for now tells neither."""
    return check.result if check and check.state in (State.PASS, State.STOP) else None


def _proved(system: str, check: CheckState) -> Finding:
    result, seen = check.result, Seen.FAULTY if check.state is State.STOP else Seen.GOOD
    value = f"{result.value} {result.unit}".rstrip() if result else ""
    return Finding(system, seen, f"{CHECKS[check.check].measure}: {value} ({check.state})")


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


def rates_of(row: RecommissionPrices | None) -> Rates:
    """The organisation's own rates, or our defaults."""
    if row is None:
        return Rates()
    return Rates(
        row.currency,
        (row.hour_low, row.hour_likely, row.hour_high),
        (row.parts_low, row.parts_likely, row.parts_high),
    )


def swings_of(
    recommissioning: Recommissioning, prices: RecommissionPrices | None, *, before: bool
) -> tuple[Swing, ...]:
    """The looks that would change the price most, now or as before anybody looked."""
    looked = recommissioning.outlook_before if before else recommissioning.outlook
    states = () if before else recommissioning.states
    return price_swings(recommissioning.plan, looked, states, rates_of(prices))


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
