"""Puts the storage history of one car together for one reader."""

from collections.abc import Sequence
from datetime import date
from functools import partial

from django.utils import timezone

from collection.care.queries.care import day_of, open_tags
from collection.cars.record_words import record_lines
from collection.cars.words import Facts, car_panel
from collection.drawing.strips import Strip
from collection.due.cells import cells_of
from collection.due.core.reasons import reasons
from collection.history.core.past import Past, past_of, unseen_days
from collection.history.doings import doings, folded, open_faults, told_facts
from collection.history.grades import OF_BASIS, STATEMENT
from collection.history.kept import kept
from collection.history.known import known_days
from collection.history.limits import limits
from collection.history.missed import missed
from collection.history.outlook import condition
from collection.history.places import stay_lines
from collection.history.queries.history import standing, whole_log
from collection.history.scope import Scope
from collection.history.story import DutyTold, LastTime, RecordTold, Story, System, Tag
from collection.history.verdict import answers
from collection.history.years import years_of
from collection.life.core.once import cached_reads
from collection.life.duties import DutyLine, lines_of
from collection.models import Basis, Entry, Vehicle
from collection.proof.summary import summarise_proof
from collection.recommission.queries import evidence_of
from collection.web.templatetags.longstand import limit_day
from collection.web.units import Edge, edge
from scheduler.vocabulary.duties import DUTIES
from scheduler.vocabulary.systems import SYSTEMS

NOT_IN_A_PERIOD = ("In storage since",)  # a fact that tells of before the period


def tell(vehicle: Vehicle, *, today: date, units: str, scope: Scope) -> Story:
    """The story of a car as of ``today`` for a reader who counts in ``units``; duties must be fresh."""
    with cached_reads():
        return _told(vehicle, today, units, scope)


def _told(vehicle: Vehicle, today: date, units: str, scope: Scope) -> Story:
    reader, log = edge(units), whole_log(vehicle)
    entries = standing(log)
    story = _record(vehicle, log, entries, scope, reader, units, today)
    if scope.reaches(today):
        _state_of_today(story, entries, units)
    try:
        _worked_out(story, log, entries)
        story.years = _years(story, entries)
    except ValueError as fault:
        story.fault = scope.said(str(fault))
    inside = [entry for entry in entries if scope.covers(day_of(entry))]
    story.answers = answers(story, inside, list(evidence_of(vehicle)), units=units)
    return story


def _years(story: Story, entries: Sequence[Entry]) -> list[Strip]:
    moves = [stay.since for stay in story.stays[1:] if stay.since]
    return years_of(
        story.vehicle,
        [entry for entry in entries if story.scope.covers(day_of(entry))],
        story.missed,
        moves,
        story.known.unknown_spans,
        first=story.first,
        last=story.last,
    )


def _record(  # what stands on record, before anything is worked out
    vehicle: Vehicle,
    log: Sequence[Entry],
    entries: Sequence[Entry],
    scope: Scope,
    reader: Edge,
    units: str,
    today: date,
) -> Story:
    first, last = _period(vehicle, entries, scope, today)
    told = doings(log, scope, units)
    return Story(
        vehicle=vehicle,
        scope=scope,
        today=today,
        first=first,
        last=last,
        facts=_facts(vehicle, scope, reader),
        owner=str(vehicle.owner) if scope.owner else "",
        kept_by=scope.said(str(vehicle.organisation)),
        stays=stay_lines(vehicle, entries, scope, reader, today),
        doings=told,
        lines=folded(log, told, scope),
        record=_changes_of_record(vehicle, scope, reader),
        seal=summarise_proof(vehicle),
        known=known_days(
            entries, first=first, last=last, unseen=partial(unseen_days, vehicle), opened=_opened(vehicle)
        ),
        last_times=_last_times(vehicle, scope),
    )


def _opened(vehicle: Vehicle) -> date | None:
    """The day on which its record was first written down."""
    written = vehicle.record_entries.order_by("recorded_at").first()
    return timezone.localdate(written.recorded_at) if written else None


def _facts(vehicle: Vehicle, scope: Scope, reader: Edge) -> Facts:
    told = car_panel(vehicle, reader).facts
    return [fact for fact in told if not (scope.first and fact[0] in NOT_IN_A_PERIOD)]


def _period(vehicle: Vehicle, entries: Sequence[Entry], scope: Scope, today: date) -> tuple[date, date]:
    last = min(scope.last or today, vehicle.left_on or today, today)
    known = [day for day in (vehicle.stored_since, *(day_of(entry) for entry in entries[:1])) if day]
    return min(scope.first or min(known, default=last), last), last


def _changes_of_record(vehicle: Vehicle, scope: Scope, reader: Edge) -> list[RecordTold]:
    return [
        RecordTold(
            line.day,
            tuple(map(scope.said, line.changes)),
            scope.said(line.by),
            line.basis,
            OF_BASIS[Basis(line.code)] if line.code else STATEMENT,
        )
        for line in record_lines(vehicle, reader, places=scope.place)
        if scope.covers(line.day)
    ]


def _last_times(vehicle: Vehicle, scope: Scope) -> list[LastTime]:
    uses = vehicle.last_uses.order_by("-on", "event")
    return [
        LastTime(use.get_event_display(), use.on, use.get_basis_display(), OF_BASIS[Basis(use.basis)])
        for use in uses
        if scope.covers(use.on)
    ]


def _state_of_today(story: Story, entries: Sequence[Entry], units: str) -> None:
    scope = story.scope
    story.tags = [
        Tag(": ".join(value for _, value in told_facts(tag, scope, units)), day_of(tag), scope.author(tag))
        for tag in open_tags([story.vehicle])
    ]
    story.open_faults = [fault for fault in open_faults(entries, scope) if scope.covers(fault.day)]


def _worked_out(story: Story, log: Sequence[Entry], entries: Sequence[Entry]) -> None:
    """What the models say; ValueError leaves what was found so far."""
    vehicle, scope, today = story.vehicle, story.scope, story.today
    now = lines_of(vehicle, today) if scope.reaches(today) and not vehicle.left_on else []
    story.missed = missed(vehicle, entries, Past(), [], scope, today)  # what stands whatever the models say
    past = past_of(vehicle, log, first=story.first, last=story.last)
    story.missed = missed(vehicle, entries, past, now, scope, today)
    story.kept = kept(past, entries, scope)
    story.limits = limits(vehicle, entries, past, story.known, story.first, story.last)
    if now:
        story.systems = _systems(story, now)
        story.cells = cells_of(now)
        story.condition = condition(vehicle, prices=scope.prices, today=today)


def _systems(story: Story, now: Sequence[DutyLine]) -> list[System]:
    """Each system with its duties and the reason of each."""
    why, said = reasons(story.vehicle, today=story.today), story.scope.said
    told = {
        line.duty: DutyTold(
            line,
            _when(line, story.today),
            said(why[line.duty].summary),
            tuple(map(said, why[line.duty].assumptions)),
        )
        for line in now
        if line.duty in why
    }
    systems = [
        System(
            row.title,
            tuple(told[duty.code] for duty in DUTIES if duty.system == row.code and duty.code in told),
        )
        for row in SYSTEMS
    ]
    added = [DutyTold(line, _when(line, story.today), _own(line), ()) for line in now if line.name]
    return [*systems, System("Papers and own duties", tuple(added))]


def _own(line: DutyLine) -> str:
    return f"{line.limit[:1].upper()}{line.limit[1:]}."


def _when(line: DutyLine, today: date) -> str:
    """When it falls, in words."""
    if line.state == "on_hold":
        return line.hold
    if line.state == "unknown":
        return line.look_first
    if line.by is None:
        return "no date in sight"
    return limit_day(line.by, today)
