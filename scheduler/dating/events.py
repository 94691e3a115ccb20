"""The four last events that are never confused, and what one of them says about another.

What happens: "last used" means four different days. A road use is a movement and an engine run, and
both need somebody there; so last attended >= last run, last moved >= last road use.

Rule: a lower bound on an event holds for every event that it includes; an upper bound on an event
holds for every event that includes it (being towed on the road is a movement, not a road use).
"""

from enum import StrEnum


class Event(StrEnum):
    """Which last day is meant."""

    ROAD_USE = "road use"
    ENGINE_RUN = "engine run"
    MOVEMENT = "movement"
    ATTENDED = "attended"


class Side(StrEnum):
    """Which way a piece of evidence bounds an event."""

    NOT_BEFORE = "not before"
    NOT_AFTER = "not after"


# Each event and the events that must have happened with it.
INCLUDES: dict[Event, tuple[Event, ...]] = {
    Event.ROAD_USE: (Event.ROAD_USE, Event.ENGINE_RUN, Event.MOVEMENT, Event.ATTENDED),
    Event.ENGINE_RUN: (Event.ENGINE_RUN, Event.ATTENDED),
    Event.MOVEMENT: (Event.MOVEMENT, Event.ATTENDED),
    Event.ATTENDED: (Event.ATTENDED,),
}


def reached(event: Event, side: Side) -> tuple[Event, ...]:
    """The events that a bound on ``event`` holds for, itself among them."""
    if side is Side.NOT_BEFORE:
        return INCLUDES[event]
    return tuple(other for other, with_it in INCLUDES.items() if event in with_it)
