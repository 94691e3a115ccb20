"""A cell and what its column means become a value in SI, or a fault in plain words."""

import json
import math
import re
from datetime import date, datetime, time, tzinfo
from difflib import get_close_matches
from typing import Any

from collection.spreadsheets.sheets import dates, dictionaries, numbers
from collection.spreadsheets.sheets.cells import Cell, Formula, shown, text_of
from collection.spreadsheets.sheets.dictionaries import normal
from collection.spreadsheets.sheets.fields import (
    CHOICE,
    CLOCK,
    DATE,
    FLAG,
    MOMENT,
    NUMBER,
    WHOLE,
    WORDS,
    Choices,
    Field,
)
from collection.spreadsheets.sheets.mapping import Use
from collection.spreadsheets.sheets.units import AMERICAN, BRITISH, is_bare_gallon, unit_named
from scheduler.vocabulary.units import UNITS, Unit

MOST_TEXT = 4000


class BadCell(ValueError):
    """A cell that cannot be read as what its column means; says what to write."""


def value_of(field: Field, use: Use, cell: Cell) -> Any:
    """The value, None for an empty cell. Numbers in SI; dates as ``dates.Read``."""
    text = text_of(cell)
    if isinstance(cell, Formula):
        raise BadCell(f"the formula {shown(text)} has no value: open the file, compute (F9), save, send that")
    if cell is None or _says_nothing(field, text):
        return None
    if len(text) > MOST_TEXT:
        raise BadCell(f"this cell has {len(text):,} characters: shorten it to {MOST_TEXT:,}")
    if field.type in (DATE, MOMENT):
        return _date(use, cell)
    if field.type in (NUMBER, WHOLE):
        return _number(field, use, cell)
    if field.type == CLOCK:
        return _clock(cell)
    return _word(field, text)


def _says_nothing(field: Field, text: str) -> bool:
    """“unknown”, “?”, a stroke; of a tick a stroke is a no, and a note is what it says."""
    if field.type == FLAG or field.key.endswith(("note", "notes")):
        return not text
    own = {code for code, _ in field.choices()} if field.choices else set()
    return text.casefold() in dictionaries.unknown() and text.casefold() not in own


def _word(field: Field, text: str) -> Any:
    if field.type == FLAG:
        return _flag(text)
    if field.type == CHOICE:
        return choice_of(text, field.choices() if field.choices else (), field)
    return split_words(text) if field.type == WORDS else text


def _date(use: Use, cell: Cell) -> dates.Read:
    if use.order == dates.ASK:
        raise BadCell("say above whether the day or the month comes first in this column")
    try:
        return dates.read_date(cell, use.order or dates.DMY, use.year)
    except (ValueError, OverflowError) as error:
        raise BadCell(str(error)) from error


def _clock(cell: Cell) -> time:
    try:
        return dates.read_time(cell)
    except ValueError as error:
        raise BadCell(str(error)) from error


def _number(field: Field, use: Use, cell: Cell) -> float | int:
    unit = unit_named(field.unit, use.unit) if field.unit else None
    if isinstance(cell, bool | date | time):
        raise BadCell(f"“{shown(cell)}” is no number: write it like 12.4")
    if isinstance(cell, int | float):
        value = float(cell)
    else:
        value, unit = _figures(field, use, text_of(cell), unit)
    if not math.isfinite(value):
        raise BadCell("this is no number: write it like 12.4")
    si = unit.to_si(value) if unit and unit is not UNITS[field.unit][0] else value
    if field.type == WHOLE:
        if not si.is_integer():
            raise BadCell(f"“{shown(cell)}” is no whole number")
        return int(si)
    return si


def _figures(field: Field, use: Use, text: str, unit: Unit | None) -> tuple[float, Unit | None]:
    parts = numbers.split_unit(text)
    if parts is None:
        raise BadCell(f"“{shown(text)}” is no number: write it like 12.4")
    figures, words = parts
    if words:
        written_in = unit_named(field.unit, words) if field.unit else None
        if written_in is None and is_bare_gallon(field.unit, words):
            written_in = unit if unit and unit.name in (AMERICAN, BRITISH) else None
            if written_in is None:
                raise BadCell(f"“{shown(text)}”: say whose gallons, {AMERICAN} or {BRITISH}")
        if written_in is None:
            known = ", ".join(it.name for it in UNITS.get(field.unit, ()))
            fix = f"write the number alone{' or with ' + known if known else ''}"
            raise BadCell(f"“{shown(words)}” is no unit of this: {fix}")
        unit = written_in
    try:
        return numbers.number(figures, use.decimal), unit
    except ValueError as error:
        raise BadCell(f"“{shown(text)}” is no number: write it like 12.4") from error


def _flag(text: str) -> bool:
    word = text.casefold()
    known = dictionaries.flags()
    if word not in known:
        raise BadCell(f"“{shown(text)}” is neither yes nor no: write one of them")
    return known[word]


def choice_of(text: str, choices: Choices, field: Field) -> str:
    """The key of a choice by its key, its words in one of the languages, or words close to them."""
    known: dict[str, str] = {}
    for shorten in (lambda _key, words: words, lambda key, _words: key, _before_colon, _without_brackets):
        for key, words in choices:
            known.setdefault(normal(str(shorten(key, words))), str(key))
    codes = {str(key) for key, _ in choices}
    for word, code in dictionaries.choices(field.key).items():
        if code in codes:
            known.setdefault(word, code)
    wanted = normal(text)
    if wanted in known:
        return known[wanted]
    words_said = set(wanted.split())
    within = {key for name, key in known.items() if words_said and words_said <= set(name.split())}
    if len(within) == 1:
        return within.pop()
    close = get_close_matches(wanted, list(known), n=1, cutoff=0.85) if len(wanted) > 3 else []
    if close:
        return known[close[0]]
    offered = "; ".join(words for words in list(dict(choices).values())[:12])
    raise BadCell(f"“{shown(text)}” is no known {field.label.lower()}: use one of {offered}")


def _before_colon(_key: str, words: str) -> str:
    return words.split(":")[0]


def _without_brackets(_key: str, words: str) -> str:
    return re.sub(r"\(.*?\)", "", words)


def join_words(words: list[str]) -> str:
    """Several short texts in one cell, so that ``split_words`` gives them back."""
    plain = all(word == word.strip() and word and not re.search(r"[;\n\[]", word) for word in words)
    return "; ".join(words) if plain else json.dumps(words, ensure_ascii=False)


def split_words(text: str) -> list[str]:
    """The short texts of a cell: parted by semicolons or lines."""
    if text.startswith("["):
        try:
            words = json.loads(text)
        except (ValueError, RecursionError):
            words = None
        if isinstance(words, list) and all(isinstance(word, str) for word in words):
            return words
    return [word.strip() for word in re.split(r"[;\n]", text) if word.strip()]


def moment_of(read: dates.Read, clock: time | None, zone: tzinfo, now: datetime) -> datetime:
    """When something was done; without a time it is noon, or now where noon is yet to come."""
    at = clock or read.clock
    if at is not None:
        return datetime.combine(read.day, at, at.tzinfo or zone)
    noon = datetime.combine(read.day, time(12), zone)
    return min(noon, now) if read.day == now.astimezone(zone).date() else noon
