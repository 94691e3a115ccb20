"""Bays and buildings that a table speaks of, written down from its preview."""

import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime

from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404

from collection.care.actions.floor import floor_of
from collection.care.actions.record import Edit
from collection.life.queries import local_day
from collection.models import Bay, Building
from collection.permissions import Access
from collection.places.actions.places import save_bay, save_building
from collection.spreadsheets.actions.incoming import Answer
from scheduler.vocabulary.buildings import BUILDING_KIND

MOST_NAME = 80  # signs of a building's name

ADD = "add "  # before the number of a building: a bay of this name is written down in it
HOUSE = "house "  # before the number of a site and a kind of building: one of this name is written down there


def bay_named(text: str) -> tuple[str, int] | None:
    """Row and place of a bay that a text names, as painted on the floor: “B 12”; None where it names none."""
    match = re.fullmatch(r"([^\d]{1,10}?)[ .\-]*(\d{1,4})", text.strip())
    return (match[1].strip(), int(match[2])) if match and match[1].strip() else None


def add_asked_bays(*, access: Access, answers: Sequence[Answer], now: datetime) -> list[Answer]:
    """Write down each bay and building that somebody wants added; the answers then name it."""
    return [
        replace(it, meaning=str(add(access, it, now).pk))
        if it.field == "place" and (add := _adds(it.meaning))
        else it
        for it in answers
    ]


def _adds(meaning: str) -> Callable[[Access, Answer, datetime], Bay] | None:
    if meaning.startswith(ADD):
        return _add
    return _add_house if meaning.startswith(HOUSE) else None


def _add(access: Access, answer: Answer, now: datetime) -> Bay:
    named = bay_named(answer.text)
    if not access.may_manage or named is None:
        raise ValidationError("A bay is a row and a number, as B 12, and a manager adds it under Places.")
    building = get_object_or_404(access.buildings(), pk=answer.meaning.removeprefix(ADD))
    bay = Bay(building=building, row=named[0], place=named[1])
    edit = Edit(access.person, now)
    return save_bay(bay=bay, blocked_by=(), edit=edit, today=local_day(access.organisation, now))


def _add_house(access: Access, answer: Answer, now: datetime) -> Bay:
    """The floor of a new building: the cars stand there without a bay of their own."""
    site, _, code = answer.meaning.removeprefix(HOUSE).partition(" ")
    if not access.may_manage or code not in BUILDING_KIND:
        raise ValidationError("A manager adds buildings under Places.")
    building = Building(
        site=get_object_or_404(access.sites(), pk=site),
        name=" ".join(answer.text.split())[:MOST_NAME],
        shelter=BUILDING_KIND[code].shelter,
    )
    save_building(building=building, edit=Edit(access.person, now), today=local_day(access.organisation, now))
    return floor_of(building)
