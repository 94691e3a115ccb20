"""The intake report of a long-stood car in plain words: what the page and the paper both say."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from collection.care import core as choices
from collection.care.templatetags.care_words import facts
from collection.cars.words import as_known
from collection.drawing.templatetags.measures import distance
from collection.models import Vehicle
from collection.proof.summary import ProofSummary, summarise_proof
from collection.recommission.core.plan import Recommissioning, hazards_of, swings_of
from collection.recommission.queries import RecommissioningRecord
from collection.recommission.standing_drawing import StandingDrawing, draw_standing
from collection.recommission.words import clashes, event_lines, hours, money, stood_sentence
from collection.web.templatetags.longstand import day

Row = tuple[str, ...]
AS_ABOVE = "for what is said above"
MOST_SWINGS = 3


@dataclass(frozen=True, kw_only=True)
class Intake:
    """The report; every row is in the order of its table's columns."""

    car: str
    on: date
    before: bool  # as reckoned before anybody looked
    lead: str
    prepared: str
    tags: Row
    hazards: Row
    identity: tuple[tuple[str, str], ...]
    swings: tuple[Row, ...]  # system, chance of trouble, what it adds, the look that settles it
    allowed: tuple[tuple[str, bool, Row], ...]  # what may be done, whether, and what it waits for
    open_tasks: Row
    drawing: StandingDrawing
    events: tuple[Row, ...]  # event, by hard evidence alone, with soft
    clashes: Row
    evidence: tuple[Row, ...]  # what, what it says, who wrote it down when
    systems: tuple[Row, ...]  # system, state, how it is known
    results: tuple[Row, ...]  # step, result, state, when and by whom
    stages: tuple[Row, ...]  # stage, state, money
    total: str
    lines: tuple[Row, ...]  # work, hours, parts, why it counts
    proof: ProofSummary | None


def intake(
    record: RecommissioningRecord,
    recommissioning: Recommissioning,
    *,
    today: date,
    before: bool,
    units: str,
    by: str,
) -> Intake:
    """The report as the car stands now, or, ``before``, as before anybody looked; ``by``: who asks for it."""
    estimate = recommissioning.before if before else recommissioning.estimate
    known = recommissioning.is_bounded
    car, outlook = record.vehicle, recommissioning.outlook_before if before else recommissioning.outlook
    underway = recommissioning.underway
    return Intake(
        car=str(car),
        on=today,
        before=before,
        lead=_lead(recommissioning, car, today, before),
        prepared=f"Made for {car.owner} by {car.organisation}, {by}, on {day(today)}. "
        "An estimate, not a quotation.",
        tags=tuple(_tag(tag, units) for tag in record.tags),
        hazards=()
        if before
        else tuple(_capital(choices.hazards()[name]) for name in hazards_of(record.entries)),
        identity=tuple(_identity(record, units)),
        swings=tuple(_swings(record, recommissioning, before)) if underway else (),
        allowed=() if before else tuple(_allowed(recommissioning)),
        open_tasks=() if before else tuple(task.text for task in recommissioning.open_tasks),
        drawing=draw_standing(recommissioning.standing, today),
        events=tuple(
            (line.event, line.hard, line.soft) for line in event_lines(recommissioning.standing, today)
        ),
        clashes=tuple(
            f"{_capital(first)}, and {second}: {text}."
            for first, second, text in clashes(recommissioning.standing)
        ),
        evidence=tuple(_evidence(record, units)),
        systems=tuple(
            (one.label, one.state if one.is_known else "", _known_by(one))
            for one in sorted(outlook, key=lambda one: (-one.likely, one.label))
        ),
        results=() if before else tuple(_results(recommissioning)),
        stages=tuple(_stages(recommissioning, estimate, car, before)) if underway else (),
        total=money(estimate.money, car.organisation, known=known) if underway else "",
        lines=tuple(
            (
                f"{it.stage} {it.label}",
                hours(it.hours, known=known),
                money(it.parts, car.organisation, known=known),
                it.because,
            )
            for it in estimate.lines
        )
        if underway
        else (),
        proof=summarise_proof(car),
    )


def _lead(recommissioning: Recommissioning, car: Vehicle, today: date, before: bool) -> str:
    estimate = recommissioning.before if before else recommissioning.estimate
    basis = (
        "As reckoned before inspection, from standing time alone."
        if before
        else f"As found up to {day(today)}."
    )
    low, _, high = estimate.waiting_days
    soaking = f" and {low:.0f} to {high:.0f} days of soaking" if high else ""
    stood, known = stood_sentence(recommissioning.stood), recommissioning.is_bounded
    if not recommissioning.underway:
        return f"{basis} {stood} It is in care, and carries no bill of recommissioning."
    return (
        f"{basis} {stood} {'Recommissioning it' if before else 'What is left'} takes "
        f"{hours(estimate.hours, known=known)} of work{soaking}, "
        f"and costs {money(estimate.money, car.organisation, known=known)}."
    )


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _tag(tag: Any, units: str) -> str:
    return f"{': '.join(value for _, value in facts(tag, units))}. Put on {day(tag.done_at)} by {tag.by}."


def _identity(record: RecommissioningRecord, units: str) -> Iterator[tuple[str, str]]:
    """What tells this car from another, as far as the record knows it."""
    car = record.vehicle
    yield "Make and model", f"{car.marque} {car.model}".strip()
    yield "Year", str(car.year or "not known")
    yield "Registration", car.registration or "none written down"
    yield "Chassis number", car.chassis_number or "none written down"
    yield "Engine", car.engine or "not written down"
    yield "Fuel system", as_known(car, "fuel_system", car.get_fuel_system_display()) or "not known"
    rows = [row for row in record.evidence if row.odometer_km is not None]
    latest = max(rows, key=lambda row: (row.on or row.recorded_at.date(), row.recorded_at), default=None)
    if latest is not None and latest.odometer_km is not None:
        kind = choices.evidence_kinds()[latest.kind].label
        read = day(latest.on or latest.recorded_at)
        yield "Odometer", f"{distance(latest.odometer_km, units)}, {read} ({kind.lower()})"


def _swings(record: RecommissioningRecord, recommissioning: Recommissioning, before: bool) -> Iterator[Row]:
    keeper = record.vehicle.organisation
    for one in swings_of(recommissioning, record, before=before)[:MOST_SWINGS]:
        yield one.label, f"{one.chance:.0%}", money(one.money, keeper, known=True), one.first_look


def _allowed(recommissioning: Recommissioning) -> Iterator[tuple[str, bool, Row]]:
    """Each permission with the reasons that the one before it did not have."""
    lacking = dict(recommissioning.lacking)
    for one in recommissioning.permissions.allowed:
        yield _capital(one.label), one.given, () if one.given else lacking[one.label] or (AS_ABOVE,)


def _evidence(record: RecommissioningRecord, units: str) -> Iterator[Row]:
    """Each piece of evidence with what it says."""
    kinds = choices.evidence_kinds()
    for row in record.evidence:
        odometer = "" if row.odometer_km is None else distance(row.odometer_km, units)
        parts = (
            f"{day(row.on)} to {day(row.until)}" if row.on and row.until else day(row.on) if row.on else "",
            row.code,
            odometer,
            f"{row.count} rings" if row.count else "",
            row.event,
            row.note,
        )
        yield (
            kinds[row.kind].label,
            ", ".join(part for part in parts if part) or "as described by its kind",
            f"{row.by}, {day(row.recorded_at)}",
        )


def _known_by(one: Any) -> str:
    """How the state of a system is known."""
    seen = [claim.text for claim in one.claims if claim.says == "found"]
    return "; ".join(seen) if seen else f"expected: {one.words}"


def _results(recommissioning: Recommissioning) -> Iterator[Row]:
    """Every step with a result."""
    names = choices.checks()
    for stage in recommissioning.states:
        for check in stage.checks:
            if result := check.result:
                by = f"{day(result.at)}, {result.by}"
                with_what = f", {result.instrument}" if result.instrument else ""
                yield f"{stage.stage} {names[check.check].do}", _value(result), check.state, by + with_what


def _value(result: Any) -> str:
    if result.value is None:
        return f"could not be done: {result.note}" if result.note else "could not be done"
    value = result.value if isinstance(result.value, str) else f"{result.value:.6g}"
    return f"{value} {result.unit}".rstrip()


def _stages(recommissioning: Recommissioning, estimate: Any, car: Vehicle, before: bool) -> Iterator[Row]:
    """The plan, a stage a row, with what is left of its cost."""
    for stage in recommissioning.states:
        cost = estimate.of_stage(stage.stage)
        text = money(cost, car.organisation, known=recommissioning.is_bounded) if cost[2] else ""
        yield f"{stage.stage} {stage.title}", "" if before else stage.state, text
