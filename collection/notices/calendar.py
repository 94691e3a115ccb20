"""A person's round and due dates as a calendar that any calendar program reads (RFC 5545)."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

REFRESH = timedelta(hours=6)
ALARM_BEFORE = timedelta(minutes=15)  # policy: time to fetch what is brought


@dataclass(frozen=True)
class DayEvent:
    """Something that lasts all day; ``uid`` is the same as long as it means the same."""

    uid: str
    day: date
    title: str
    words: str
    address: str


@dataclass(frozen=True)
class VisitEvent:
    """A visit to a car with an alarm; moved to another day it keeps its ``uid``."""

    uid: str
    start: datetime
    minutes: int
    planned_at: datetime
    title: str
    words: str
    place: str
    address: str


def calendar_file(name: str, events: Iterable[DayEvent | VisitEvent], *, now: datetime) -> bytes:
    """The calendar as bytes, lines folded and ended as the standard asks."""
    from icalendar import Alarm, Calendar, Event  # a tenth of a second and 10 MB that only feeds need

    calendar = Calendar()
    calendar.add("prodid", "-//Longstand//Due dates//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", name)
    calendar.add("refresh-interval", REFRESH, parameters={"value": "DURATION"})
    for event in events:
        if isinstance(event, DayEvent):
            calendar.add_component(_day(Event(), event, now))
        else:
            calendar.add_component(_visit(Event(), Alarm(), event))
    return bytes(calendar.to_ical())


def _day(event: Any, entry: DayEvent, now: datetime) -> Any:
    event.add("uid", entry.uid)
    event.add("dtstamp", now)
    event.add("dtstart", entry.day)
    event.add("dtend", entry.day + timedelta(days=1))
    event.add("summary", entry.title)
    event.add("description", entry.words)
    event.add("url", entry.address)
    event.add("transp", "TRANSPARENT")
    return event


def _visit(event: Any, alarm: Any, entry: VisitEvent) -> Any:
    event.add("uid", entry.uid)
    event.add("dtstamp", entry.planned_at)
    event.add("last-modified", entry.planned_at)
    event.add("dtstart", entry.start)
    event.add("dtend", entry.start + timedelta(minutes=entry.minutes))
    event.add("summary", entry.title)
    event.add("description", entry.words)
    event.add("location", entry.place)
    event.add("url", entry.address)
    alarm.add("action", "DISPLAY")
    alarm.add("description", entry.title)
    alarm.add("trigger", -ALARM_BEFORE)
    event.add_component(alarm)
    return event
