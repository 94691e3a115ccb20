"""What must be true of a care log entry before it is stored; each fault names the field and the fix."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from math import isfinite
from typing import Any

from django.core.exceptions import ValidationError

from collection.care import rules
from collection.care.attachments import MOST_FILES
from collection.care.draft import Draft, Measured
from collection.care.queries.care import released
from collection.care.record_checks import against_the_record
from collection.models import CareKind, Entry
from collection.web.measures import out_of_range
from scheduler.vocabulary.care import KIND
from scheduler.vocabulary.details import Choice, Detail, Flag, Number, Row, Text, Words
from scheduler.vocabulary.quantities import QUANTITY
from scheduler.vocabulary.units import Unit

CLOCK_GRACE = timedelta(minutes=5)  # policy: a phone's clock may run ahead by this much
FIRST_YEAR = 1885  # the first motor car
NOTE_LIMIT = 2000
CORRECTED_ALREADY = "Somebody has already corrected this entry: open the log and correct theirs."

Fault = tuple[str, str]
Check = Callable[[Draft, datetime], Iterator[Fault]]


def check_entry(draft: Draft, *, now: datetime) -> None:
    """ValidationError with every fault found, by field; silence when the entry may be stored."""
    _known_kind(draft)
    faults = _faults(
        draft, now, (_when, _in_its_life, _standing, _correction, _details, _readings, _words, _attachments)
    )
    if not faults:  # what follows may take the details at their word
        for name, text in against_the_record(draft):
            faults.setdefault(name, []).append(text)
    if faults:
        raise ValidationError(faults)


def check_as_written(draft: Draft, *, now: datetime) -> None:
    """The same for an entry that was written elsewhere: is it well formed, whether or not it fits now."""
    _known_kind(draft)
    if faults := _faults(draft, now, (_when, _details, _readings, _words)):
        raise ValidationError(faults)


def _known_kind(draft: Draft) -> None:
    if draft.kind not in KIND:
        known = ", ".join(CareKind.values)
        raise ValidationError({"kind": f"There is no kind of entry {draft.kind!r}: use one of {known}."})


def _faults(draft: Draft, now: datetime, checks: Iterable[Check]) -> dict[str, list[str]]:
    faults: dict[str, list[str]] = {}
    for check in checks:
        for name, text in check(draft, now):
            faults.setdefault(name, []).append(text)
    return faults


def _when(draft: Draft, now: datetime) -> Iterator[Fault]:
    done = draft.done_at
    if done is None:
        return
    if done.tzinfo is None:
        yield "done_at", "Say the time zone of the time it was done."
    elif done > now + CLOCK_GRACE + timedelta(seconds=max(draft.claim_skew_s, 0)):
        yield "done_at", "This is in the future: give the time when it was done."
    elif done.year < FIRST_YEAR:
        yield "done_at", f"This is before the first motor car of {FIRST_YEAR}: check the year."


def _in_its_life(draft: Draft, _now: datetime) -> Iterator[Fault]:
    done, built = draft.done_at, draft.vehicle.year
    if done is not None and built and FIRST_YEAR <= done.year < built - 1:
        yield "done_at", f"This is before the car was built ({built}): check the year."


def _standing(draft: Draft, _now: datetime) -> Iterator[Fault]:
    if draft.vehicle.left_on and not KIND[draft.kind].after_leaving:
        yield "kind", f"This car left storage on {draft.vehicle.left_on:%-d %b %Y}: only notes may be added."
    elif released(draft.vehicle):
        yield "kind", "This car was handed over: its history goes on where it is now."


def _correction(draft: Draft, _now: datetime) -> Iterator[Fault]:
    old = draft.corrects
    if old is None:
        if draft.kind == CareKind.WITHDRAWN:
            yield "corrects", "Say which entry is withdrawn."
        return
    if old.vehicle_id != draft.vehicle.pk:
        yield "corrects", "That entry belongs to another car: correct it there."
    elif old.kind == CareKind.WITHDRAWN:
        yield "corrects", "A withdrawal is not corrected: log the work afresh instead."
    elif draft.kind not in (old.kind, CareKind.WITHDRAWN):
        yield "kind", f"A correction stays of the same kind ({old.kind}): withdraw the entry and log afresh."
    elif Entry.objects.filter(corrects=old).exists():
        yield "corrects", CORRECTED_ALREADY


def _words(draft: Draft, _now: datetime) -> Iterator[Fault]:
    if len(draft.note) > NOTE_LIMIT:
        yield "note", f"The note has {len(draft.note)} characters: shorten it to {NOTE_LIMIT}."
    if "\0" in draft.note:
        yield "note", "Take out the null characters."
    if KIND[draft.kind].note_required and not draft.note:
        yield "note", "Write the note."


def _attachments(draft: Draft, _now: datetime) -> Iterator[Fault]:
    if not draft.attachments:
        return
    had = draft.corrects.attachments.count() if draft.corrects else 0
    if had + len(draft.attachments) > MOST_FILES:
        yield "attachments", f"{MOST_FILES} photographs and documents go with one entry: make a second one."
    if draft.kind == CareKind.WITHDRAWN:
        yield "attachments", "Nothing comes with a withdrawal: attach it to a note."


# --- details -----------------------------------------------------------------------------------


def _details(draft: Draft, _now: datetime) -> Iterator[Fault]:
    known = rules.DETAILS[draft.kind]
    for key in draft.details.keys() - known.keys():
        yield str(key), f"{draft.kind} has no such detail: use {', '.join(known) or 'none'}."
    for key, rule in known.items():
        value = draft.details.get(key)
        if value is None:
            if rule.required:
                yield key, f"{rule.label}: say which, it is needed."
        elif fault := fault_of(rule, value):
            yield key, f"{rule.label}: {fault}"


def fault_of(rule: Detail, value: Any) -> str:
    """What is wrong with a value under a rule, in words; empty when nothing is."""
    match rule:
        case Number():
            return _number_fault(rule, value)
        case Flag():
            return "" if isinstance(value, bool) else "say yes or no."
        case Choice(choices=choices):
            codes = [code for code, _ in choices]
            return "" if value in codes else f"choose one of {', '.join(codes)}."
        case Text():
            return _text_fault(value, rule.limit, rule.required)
        case Words():
            if not isinstance(value, list) or len(value) > rule.most:
                return f"send a list of at most {rule.most} short texts."
            return next((fault for word in value if (fault := _text_fault(word, rule.limit, True))), "")
        case Row():
            return "" if isinstance(value, int) and not isinstance(value, bool) else "send its number."
    raise TypeError(f"{rule} is no detail that an entry may hold")


def _number_fault(rule: Number, value: Any) -> str:
    if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
        return "give a number."
    if not rule.low <= value <= rule.high:
        return out_of_range(value, rule.low, rule.high, Unit(name=rule.unit))
    return ""


def _text_fault(value: Any, limit: int, required: bool) -> str:
    if not isinstance(value, str):
        return "give words."
    if required and not value.strip():
        return "say which, it is needed."
    if "\0" in value:
        return "take out the null characters."
    return f"shorten it to {limit} characters." if len(value) > limit else ""


# --- readings ----------------------------------------------------------------------------------


def _readings(draft: Draft, _now: datetime) -> Iterator[Fault]:
    if draft.kind in rules.NEEDS_A_READING and not draft.readings:
        yield "readings", "Give at least one reading."
    fields = [reading.field for reading in draft.readings]
    for name in sorted({name for name in fields if fields.count(name) > 1}):
        yield name, "The same reading is given twice: give it once."
    for reading in draft.readings:
        yield from _reading(reading, draft)


def _reading(reading: Measured, draft: Draft) -> Iterator[Fault]:
    if reading.quantity not in rules.MAY_HOLD.get(draft.kind, ()):
        yield reading.field, f"{draft.kind} holds no reading {reading.quantity!r}."
        return
    row = QUANTITY[reading.quantity]
    places = [position.code for position in row.positions]
    nowhere = not reading.position and row.needs_position
    if nowhere or (reading.position and reading.position not in places):
        yield reading.field, f"Say where it was measured: one of {', '.join(places) or 'nowhere'}."
    limit = limit_of(reading.quantity, draft.vehicle.system_volts_known)
    for name, rule, value in (
        (reading.field, limit, reading.value),
        ("temperature_c", rules.TEMPERATURE, reading.temperature_c),
        ("rest_hours", rules.REST, reading.rest_hours),
    ):
        if value is not None and (fault := _number_fault(rule, value)):
            yield name, f"{rule.label}: {fault}"


def limit_of(quantity: str, system_volts: int | None) -> Number:
    """The limits of a reading; volts by the car's electrical system where that is known."""
    rule, times = rules.LIMITS[quantity], QUANTITY[quantity].slip_factor
    if times is None or system_volts is None:
        return rule
    return replace(rule, high=system_volts * times, unit=f"V on a {system_volts} V system")
