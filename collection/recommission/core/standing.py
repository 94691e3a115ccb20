"""Evidence rows and recorded last times as the core's standing time."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from collection.life.last_times import last_times
from collection.models import Basis, Evidence, LastEvent, LastUse, Regime, Vehicle
from scheduler.condition.claims import span, stood_text
from scheduler.condition.outlook import Stood, spell_of
from scheduler.dating import evidence as core
from scheduler.dating.events import Event
from scheduler.dating.kinds_table import EVIDENCE_KINDS
from scheduler.dating.narrowing import Worth, most_worth_finding
from scheduler.dating.odometer import odometer_bounds
from scheduler.dating.standing import FOUND, StandingTime, standing_time
from scheduler.vocabulary.errors import BadInput

__all__ = ["Stands", "evidence_faults", "item_of", "span", "stands", "stood_text"]
EVENT_OF: dict[str, Event] = {
    LastEvent.ROAD_USE: Event.ROAD_USE,
    LastEvent.ENGINE_RUN: Event.ENGINE_RUN,
    LastEvent.FULL_WARM: Event.ENGINE_RUN,
    LastEvent.MOVED: Event.MOVEMENT,
    LastEvent.ATTENDED: Event.ATTENDED,
}
# An event happens with each of these last times: a road use moves the car and runs its engine.
HAPPENED_WITH: dict[Event, tuple[str, ...]] = {
    Event.ROAD_USE: (LastEvent.ROAD_USE,),
    Event.ENGINE_RUN: (LastEvent.ENGINE_RUN, LastEvent.FULL_WARM, LastEvent.ROAD_USE),
    Event.MOVEMENT: (LastEvent.MOVED, LastEvent.ROAD_USE),
    Event.ATTENDED: tuple(LastEvent.values)[::-1],
}
OF_ITS_AGE = ("first_registered",)  # evidence that the car was there, not that it was used
OURS = ("since-", "record-laid-up")  # keys whose note says all
MOST_SHOWN = 5  # kinds worth finding that are listed
WRITTEN = (Basis.CARE_LOG, Basis.DOCUMENT)


@dataclass(frozen=True)
class Stands:
    """The standing time, the words for each key in it, and what is worth finding next by event.

    ``found``: the day up to which others kept the car, and from which its log here is whole. ``by_age``:
    keys that say that the car was there, not that it was used.
    """

    time: StandingTime
    labels: dict[str, str]
    found: date
    worth: dict[Event, tuple[Worth, ...]]
    by_age: frozenset[str] = frozenset()

    def spell(self, event: Event, today: date) -> Stood:
        """How long it has stood since one event."""
        return spell_of(self.time, event, today, self.by_age)


def stands(vehicle: Vehicle, rows: Sequence[Evidence], uses: Sequence[LastUse], *, today: date) -> Stands:
    """What the evidence says about the four last events; ValueError where the record forbids it."""
    found_on = _found(vehicle, today)
    items = [item_of(row) for row in rows] + _recorded(vehicle, uses, today, found_on)
    items += _built(vehicle, rows, found_on)
    time = standing_time(items, found_on, today)
    labels = {FOUND: "the day the car was found" if found_on < today else "today"}
    labels |= {item.key: _label(item) for item in items}
    worth = {
        event: tuple(one for one in most_worth_finding(items, time, event) if one.days >= 1)[:MOST_SHOWN]
        for event in Event
    }
    by_age = frozenset(item.key for item in items if item.kind in OF_ITS_AGE)
    return Stands(time, labels, found_on, worth, by_age)


def _found(vehicle: Vehicle, today: date) -> date:
    """A dormant car was found on the day it came; one in care is looked at today."""
    came = vehicle.stored_since if vehicle.regime == Regime.DORMANT else None
    return min(came or today, today)


def item_of(row: Evidence) -> core.Evidence:
    """One row as the core's evidence."""
    return core.Evidence(
        key=str(row.pk),
        kind=row.kind,
        on=row.on,
        until=row.until,
        odometer_km=row.odometer_km,
        code=row.code,
        count=row.count,
        event=Event(row.event) if row.event else None,
        answers=frozenset(row.answers),
        hard=row.hard,
        note=row.note,
    )


def _recorded(vehicle: Vehicle, uses: Sequence[LastUse], today: date, found_on: date) -> list[core.Evidence]:
    """The last times of the record: documents as our own record, words as a statement."""
    if vehicle.regime != Regime.DORMANT:
        return _logged(vehicle, last_times(vehicle, today=today))
    return [_item(use.event, use.on, written=use.basis in WRITTEN) for use in uses if use.on <= found_on]


def _logged(vehicle: Vehicle, days: Mapping[str, date]) -> list[core.Evidence]:
    """What the log of a car in care tells: when each last happened, and that it did not since.

    Each item stands on both sides. Without a drive it was not driven since it was laid up here.
    """
    items = []
    for event, names in HAPPENED_WITH.items():
        last = max((days[name] for name in names if name in days), default=None)
        if last:
            items.append(_item(names[0], last, written=True))
            since = f"nothing later is logged than the last {event}"
            items.append(core.Evidence(f"since-{event}", "statement", on=last, event=event, note=since))
    laid_up = vehicle.stored_since
    if laid_up and LastEvent.ROAD_USE not in days:
        note = "in storage since, and no drive is logged"
        items.append(core.Evidence("record-laid-up", "off_road_notice", on=laid_up, note=note))
    return items


def _built(vehicle: Vehicle, rows: Sequence[Evidence], found_on: date) -> list[core.Evidence]:
    """The year of the record, where nobody found a closer date: it was there on the first day of it."""
    if vehicle.year is None or any(row.kind == "first_registered" for row in rows):
        return []
    day = date(vehicle.year, 1, 1)
    note = f"the record's year, {vehicle.year}"
    return [core.Evidence("record-built", "first_registered", on=day, note=note)] if day <= found_on else []


def _item(event: str, day: date, *, written: bool) -> core.Evidence:
    kind = "own_record" if written else "statement"
    label = f"last times of the record: {LastEvent(event).label.lower()}"
    return core.Evidence(f"record-{event}", kind, on=day, event=EVENT_OF[event], note=label)


def kind_label(kind: str) -> str:
    """What a kind of evidence is called; its code where there is none."""
    return EVIDENCE_KINDS[kind].label if kind in EVIDENCE_KINDS else kind


def _label(item: core.Evidence) -> str:
    if item.key.startswith(OURS):
        return item.note
    label = kind_label(item.kind)
    return f"{label}: {item.note}" if item.note else label


def evidence_faults(row: Evidence, others: Iterable[Evidence], *, today: date) -> list[tuple[str, str]]:
    """What is wrong with one row of evidence, by column, in words."""
    if row.kind not in EVIDENCE_KINDS:
        return [("kind", f"There is no kind of evidence {row.kind!r}.")]
    try:
        item = item_of(row)
        core.bounds_of(item, today)
        odometer_bounds([item, *(item_of(other) for other in others)])
    except BadInput as fault:
        return [(fault.argument, f"{str(fault).partition(': ')[2]}.")]
    return []
