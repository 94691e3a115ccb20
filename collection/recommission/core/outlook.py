"""What standing has told on one car: the one outlook, whichever page, paper or programme asks."""

from collections.abc import Iterator, Sequence
from datetime import date, datetime

from collection.care.queries.care import day_of, unmended
from collection.life.core.gather import gather
from collection.life.core.memoised import memoised
from collection.life.core.store import policy_of
from collection.life.duties import INSPECTION, DutyLine
from collection.models import CareKind, Damp, Regime
from collection.recommission.core.standing import Stands
from collection.recommission.queries import RecommissioningRecord
from scheduler.condition import PutAway, outlooks, spells, stood
from scheduler.condition.findings import findings
from scheduler.condition.outlook import Finding, Seen, Stood, SystemOutlook
from scheduler.dating.events import Event
from scheduler.duties.conditions import Fleet
from scheduler.duties.policy import Policy
from scheduler.recommission.stages.gates import CheckState, StageState, State
from scheduler.recommission.stages.plan import CHECKS
from scheduler.recommission.stages.results import Result
from scheduler.recommission.work import PROVED_BY, REPAIRED_AT

# Share of damp days for the words a person chose (policy); of what is not known the core has its own.
DAMP_SHARE = {Damp.DRY: 0.1, Damp.MIXED: 0.5, Damp.DAMP: 0.9}
Answers = tuple[SystemOutlook, ...]


def outlooks_of(
    record: RecommissioningRecord,
    standing: Stands,
    states: Sequence[StageState],
    duties: Sequence[DutyLine],
    *,
    today: date,
) -> tuple[Stood, Answers, Answers]:
    """How the car stood, its outlook by all that was found at it, and as it was before anybody looked.

    ``duties`` as they stand. ValueError where the record does not allow the computation.
    """
    car = record.vehicle
    fleet, policy = gather([car.pk], today=today).fleet, policy_of(car.organisation_id)
    late = frozenset(line.duty for line in duties if line.state == "act_now")
    findings = tuple(findings_of(record, states, on_time=INSPECTION not in late))
    road, roll = (standing.spell(event, today) for event in (Event.ROAD_USE, Event.MOVEMENT))
    # of a car in care the whole log is ours; of one that was found only what came after
    since = float(standing.found.toordinal()) if car.regime == Regime.DORMANT else 0.0
    given = (float(today.toordinal()), policy, late, road, roll, since, _put_away(record), findings)
    return memoised(_outlooks, fleet, *given)


def _outlooks(  # noqa: PLR0913  # all that an outlook depends on
    fleet: Fleet,
    today: float,
    policy: Policy,
    late: frozenset[str],
    road: Stood,
    roll: Stood,
    since: float,
    put_away: PutAway,
    findings: tuple[Finding, ...],
) -> tuple[Stood, Answers, Answers]:
    whole = stood(fleet, today, policy, late, road, put_away)
    each = spells(fleet, today, whole, roll, since)
    return (
        whole,
        outlooks(fleet, today, policy, each, findings),
        outlooks(fleet, today, policy, each),
    )


def _put_away(record: RecommissioningRecord) -> PutAway:
    case = record.case
    if case is None:
        return PutAway()
    return PutAway(DAMP_SHARE.get(Damp(case.damp)), frozenset(case.conditions))


def findings_of(
    record: RecommissioningRecord, states: Sequence[StageState], *, on_time: bool
) -> Iterator[Finding]:
    """What is known of each system: the latest look at it, the steps that prove it, what inspections found.

    What an inspection found counts until a later look or check. A clean one speaks for today while the next
    is not overdue (``on_time``).
    """
    looks = {e.details["system"]: e for e in record.entries if e.kind == CareKind.SYSTEM_SEEN}
    checks = {check.check: check for state in states for check in state.checks}
    proofs = {name: proof for name, key in PROVED_BY.items() if (proof := _proof(checks.get(key)))}
    seen: dict[str, datetime] = {}
    for name, look in looks.items():
        if name not in proofs or look.done_by_our_clock > proofs[name].at:
            seen[name] = look.done_by_our_clock
            yield Finding(name, Seen(look.details["seen"]), look.details.get("text", ""))
    for name, proof in proofs.items():
        if name not in seen:
            seen[name] = proof.at
            yield _proved(name, checks[proof.check])
    for stage in states:
        if stage.is_done:
            yield from (_through(stage, name) for name in _without_proof(stage.stage) if name not in seen)
    yield from _inspected(record, seen, on_time=on_time)


def _without_proof(stage: str) -> list[str]:
    """The parts that no single step proves: they are good once their whole stage is through."""
    return [name for name, at in REPAIRED_AT.items() if at.stage == stage and not at.proved_by]


def _through(stage: StageState, name: str) -> Finding:
    return Finding(name, Seen.GOOD, f"every step of {stage.stage} {stage.title} is through")


def _inspected(
    record: RecommissioningRecord, seen: dict[str, datetime], *, on_time: bool
) -> Iterator[Finding]:
    for entry, day, words in unmended(record.inspections):
        for finding in findings([(day, words)], None):
            if finding.system not in seen or entry.done_by_our_clock > seen[finding.system]:
                yield finding
    if record.inspections and record.inspections[-1].details.get("ok") and on_time:
        yield from findings((), day_of(record.inspections[-1]))


def _proof(check: CheckState | None) -> Result | None:
    """The result that tells whether a system is good; a caution or a result for now tells neither."""
    return check.result if check and check.state in (State.PASS, State.STOP) else None


def _proved(system: str, check: CheckState) -> Finding:
    result, seen = check.result, Seen.FAULTY if check.state is State.STOP else Seen.GOOD
    value = f"{result.value} {result.unit}".rstrip() if result else ""
    return Finding(system, seen, f"{CHECKS[check.check].measure}: {value} ({check.state})")
