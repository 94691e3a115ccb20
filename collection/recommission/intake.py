"""The intake report of a long-stood car in plain words: what the page and the paper both say."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from collection.care import core as choices
from collection.care.templatetags.care_words import facts
from collection.models import Vehicle
from collection.recommission.core.plan import Recommissioning
from collection.recommission.queries import RecommissioningRecord
from collection.recommission.words import clashes, event_lines, hours, money, stood_sentence
from collection.web.templatetags.longstand import day

Row = tuple[str, ...]
AS_ABOVE = "for what is said above"


@dataclass(frozen=True)
class Intake:
    """The report; every row is in the order of its table's columns."""

    car: str
    on: date
    before: bool  # as reckoned before anybody looked
    lead: str
    prepared: str
    tags: tuple[str, ...]
    allowed: tuple[tuple[str, bool, Row], ...]  # what may be done, whether, and what it waits for
    open_tasks: Row
    events: tuple[Row, ...]  # event, by hard evidence alone, with soft
    clashes: Row
    finds: str
    expected: tuple[Row, ...]  # system, likelihood, state
    found: tuple[Row, ...]  # step, result, state, when and by whom
    by_stage: tuple[Row, ...]  # stage, money
    total: str
    lines: tuple[Row, ...]  # work, hours, parts, why it counts


def intake(
    record: RecommissioningRecord, recommissioning: Recommissioning, *, today: date, before: bool, units: str
) -> Intake:
    """The report as the car stands now, or, ``before``, as before anybody looked."""
    estimate = recommissioning.before if before else recommissioning.estimate
    known = recommissioning.is_bounded
    car, outlook = record.vehicle, recommissioning.outlook_before if before else recommissioning.outlook
    return Intake(
        car=str(car),
        on=today,
        before=before,
        lead=_lead(recommissioning, car, today, before),
        prepared="An estimate, not a quotation: likely first, then the range. "
        f"Prepared by {car.organisation} for {car.owner}.",
        tags=tuple(_tag(tag, units) for tag in record.tags),
        allowed=() if before else tuple(_allowed(recommissioning)),
        open_tasks=() if before else tuple(task.text for task in recommissioning.open_tasks),
        events=tuple(
            (line.event, line.hard, line.soft) for line in event_lines(recommissioning.standing, today)
        ),
        clashes=tuple(
            f"{_capital(first)}, and {second}: {text}."
            for first, second, text in clashes(recommissioning.standing)
        ),
        finds=_finds(len(record.evidence)),
        expected=tuple(
            (one.label, one.words, one.state if one.is_known else "")
            for one in sorted(outlook, key=lambda one: (-one.likely, one.label))
        ),
        found=() if before else tuple(_results(recommissioning)),
        by_stage=tuple(_by_stage(recommissioning, estimate, car)) if recommissioning.underway else (),
        total=money(estimate.money, car.organisation, known=known) if recommissioning.underway else "",
        lines=tuple(
            (
                f"{it.stage} {it.label}",
                hours(it.hours, known=known),
                money(it.parts, car.organisation, known=known),
                it.because,
            )
            for it in estimate.lines
        )
        if recommissioning.underway
        else (),
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
    return f"{': '.join(value for _, value in facts(tag, units))}. Hung {day(tag.done_at)} by {tag.by}."


def _allowed(recommissioning: Recommissioning) -> Iterator[tuple[str, bool, Row]]:
    """Each permission with the reasons that the one before it did not have."""
    listed: set[str] = set()
    for one in recommissioning.permissions.allowed:
        own = tuple(reason for reason in one.reasons if reason not in listed)
        listed |= set(own)
        yield _capital(one.label), one.given, own if own or one.given else (AS_ABOVE,)


def _finds(count: int) -> str:
    return f"From {count} find{'' if count == 1 else 's'} at the car and among its papers."


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


def _by_stage(recommissioning: Recommissioning, estimate: Any, car: Vehicle) -> Iterator[Row]:
    for stage in choices.stages():
        cost = estimate.of_stage(stage.key)
        if cost[2]:
            yield (
                f"{stage.key} {stage.title}",
                money(cost, car.organisation, known=recommissioning.is_bounded),
            )
