"""Whether what is logged can be true of this car: its tank, its bays, its tags, its fluids."""

from collections.abc import Callable, Iterator
from datetime import datetime
from uuid import UUID

from collection.care import core as recommissioning
from collection.care.draft import Draft
from collection.care.queries.care import open_findings, open_tags
from collection.care.queries.stays import stood_there
from collection.care.rules import DETAILS
from collection.life.core.choices import fluid_types, fuel_grades
from collection.models import Bay, CareKind, FluidKind
from collection.models.care import effective
from scheduler.vocabulary.duties import DUTY
from scheduler.vocabulary.fluids import FLUID
from scheduler.vocabulary.own_duties import is_own

GLYCOL = ", ".join(fluid.title.lower() for fluid in FLUID.values() if fluid.takes_glycol)


def against_the_record(draft: Draft) -> Iterator[tuple[str, str]]:
    """Faults of details that are well formed but cannot be true of this car."""
    if draft.kind == CareKind.WITHDRAWN:
        yield from _withdrawal(draft)
    for key in DETAILS[draft.kind]:
        if check := _CHECKS.get(key):
            yield from check(draft)


def _tank(draft: Draft) -> Iterator[tuple[str, str]]:
    litres, tank = draft.details.get("litres"), draft.vehicle.tank_litres
    if litres is not None and tank is not None and litres > tank:
        yield "litres", f"{litres:g} litres do not fit: the tank of this car holds {tank:g} litres."
    grade = draft.details.get("grade")
    known = [key for key, _ in fuel_grades()]
    if grade and grade not in known:
        yield "grade", f"There is no fuel grade {grade!r}: choose one of {', '.join(known)}."


def _run(draft: Draft) -> Iterator[tuple[str, str]]:
    if draft.details.get("distance_km") and not draft.details["driven"]:
        yield "distance_km", "A car that was not driven covers no distance: tick driven, or leave it empty."


def _fluid(draft: Draft) -> Iterator[tuple[str, str]]:
    fluid, type_ = draft.details["fluid"], draft.details.get("type")
    known = [key for key, _ in fluid_types(fluid)]
    if type_ and type_ not in known:
        yield "type", f"There is no such type of {FluidKind(fluid).label.lower()}: use {', '.join(known)}."
    if draft.details.get("glycol_pct") is not None and not FLUID[fluid].takes_glycol:
        yield "glycol_pct", f"Only {GLYCOL} has a share of glycol: leave it empty."


def _place(draft: Draft) -> Iterator[tuple[str, str]]:
    details, bay = draft.details, draft.details.get("to_bay")
    if details["wheels_only"]:
        if bay is not None:
            yield "to_bay", "Put back in the same place and moved to a new bay: choose one."
    elif bay is None:
        if not details.get("to_bay_label"):
            yield "to_bay", "Say where the car stands now: a bay, or a place in words."
    elif not Bay.objects.filter(pk=bay, building__site__organisation=draft.vehicle.organisation_id).exists():
        yield "to_bay", "There is no such bay here: choose one from the list."
    elif draft.done_at is not None:
        yield from _on_that_day(draft, bay, draft.done_at)


def _on_that_day(draft: Draft, bay: int, done: datetime) -> Iterator[tuple[str, str]]:
    """Nothing stands in two places at once, and no two cars in one."""
    moves = effective(draft.vehicle.entries.filter(kind=CareKind.MOVED, done_at=done))
    for move in moves:
        if move == draft.corrects:
            continue
        if move.details.get("to_bay") not in (None, bay):
            label = move.details.get("to_bay_label")
            yield "done_at", f"At that time it was moved to {label}: give another time, or correct that move."
    if other := stood_there(bay, done, draft.vehicle):
        text = f"{other} stood in that bay on {done:%-d %b %Y}: give another bay or day, or log its move."
        yield "to_bay", text


def _tag(draft: Draft) -> Iterator[tuple[str, str]]:
    if draft.corrects and draft.corrects.pk not in {tag.pk for tag in open_tags([draft.vehicle])}:
        yield "corrects", "This tag has been taken off: correct the taking off first."


def _tag_off(draft: Draft) -> Iterator[tuple[str, str]]:
    opened = draft.details["opened"]
    hanging = {str(tag.pk) for tag in open_tags([draft.vehicle])}
    if draft.corrects:
        hanging.add(str(draft.corrects.details.get("opened")))
    if not _is_uuid(opened) or opened not in hanging:
        yield "opened", "No such tag hangs on this car: choose one of those that do."


def _is_uuid(text: str) -> bool:
    try:
        return str(UUID(text)) == text
    except ValueError:
        return False


def _answer(draft: Draft) -> Iterator[tuple[str, str]]:
    old, answers = draft.corrects, draft.details.get("answers")
    if answers is None and not (old and "found" in old.details):
        return
    waiting = {str(finding.pk) for finding in open_findings([draft.vehicle])}
    if old and "found" in old.details and str(old.pk) not in waiting:
        yield "corrects", "This has been seen to: correct the note that says so first."
    if old:
        waiting.add(str(old.details.get("answers")))
    if answers is not None and answers not in waiting:
        yield "answers", "That has been seen to already, or is no finding on this car."


def _duty(draft: Draft) -> Iterator[tuple[str, str]]:
    duty = draft.details["duty"]
    if is_own(duty):
        yield from _own(draft, "duty")
    elif duty not in DUTY:
        yield "duty", f"There is no such work: use one of {', '.join(DUTY)}."


def _own_done(draft: Draft) -> Iterator[tuple[str, str]]:
    yield from _own(draft, "own")


def _own(draft: Draft, key: str) -> Iterator[tuple[str, str]]:
    known = {duty.code: duty.title for duty in draft.vehicle.own_duties.all()}
    if draft.details[key] not in known:
        listed = ", ".join(f"{code} ({title})" for code, title in known.items())
        choose = f"use one of {listed}" if listed else "add it to the car first"
        yield key, f"This car has no such own duty: {choose}."


def _withdrawal(draft: Draft) -> Iterator[tuple[str, str]]:
    if draft.corrects and draft.corrects.kind == CareKind.TAG_OPENED:
        yield from _tag(draft)
    if draft.corrects and draft.corrects.kind == CareKind.NOTE:
        yield from _answer(draft)


def _recommissioning_step(draft: Draft) -> Iterator[tuple[str, str]]:
    yield from recommissioning.result_faults(dict(draft.details))


def _system(draft: Draft) -> Iterator[tuple[str, str]]:
    if draft.details["system"] not in recommissioning.systems():
        yield "system", f"There is no such system: use one of {', '.join(recommissioning.systems())}."


def _hazard(draft: Draft) -> Iterator[tuple[str, str]]:
    if draft.details["hazard"] not in recommissioning.hazards():
        yield "hazard", f"There is no such hazard: use one of {', '.join(recommissioning.hazards())}."


def _fault_test(draft: Draft) -> Iterator[tuple[str, str]]:
    yield from recommissioning.test_faults(dict(draft.details))


# By a detail that only entries with such a rule hold, so that a new kind that has it is checked as well.
_CHECKS: dict[str, Callable[[Draft], Iterator[tuple[str, str]]]] = {
    "distance_km": _run,
    "litres": _tank,
    "type": _fluid,
    "wheels_only": _place,
    "tag": _tag,
    "opened": _tag_off,
    "duty": _duty,
    "own": _own_done,
    "check": _recommissioning_step,
    "seen": _system,
    "present": _hazard,
    "symptom": _fault_test,
    "answers": _answer,
}
