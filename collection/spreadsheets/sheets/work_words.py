"""What was done, in the words of a table: “Batterie geladen 12,6V”, “drive, 12 miles”, “oil + filter”.

A text is cut into pieces. Each that names a kind of work becomes one, with the figures beside it; what is not
understood stays in the note, with the whole text, so that nothing is lost.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from collection.care.rules import DETAILS
from collection.models import CareKind
from collection.spreadsheets.sheets import dictionaries, numbers
from collection.spreadsheets.sheets.dictionaries import normal
from collection.spreadsheets.sheets.log_fields import KIND_WORDS
from collection.spreadsheets.sheets.units import unit_named
from scheduler.vocabulary.details import Number
from scheduler.vocabulary.quantities import QUANTITIES

LONGEST = 400  # signs of a text that is looked into
_CUT = re.compile(r"[;\n]|,(?!\d)|(?<!\d),|\s\+\s|\s&\s|\s/\s|\b(?:and|und|et|e|y)\b", re.I)
_AMOUNT = re.compile(r"(?<![\w.,])(\d{1,4}(?:[.,]\d{1,3})?)\s*(°?[^\W\d_]{1,10}|%)(?![^\W_])")
_OLD_VOLTS = re.compile(r"(?<![\w.,])(\d{1,2})V(\d{1,2})(?!\w)")
_GRAVITY = re.compile(r"\b(?:s\.?g\.?|dichte)\s*[:=]?\s*(1[.,]?[01234]\d{1,2})\b", re.I)
_GRAVITY_CODE = "specific_gravity"
MOST_WORDS = 5  # of a phrase


@dataclass
class Work:
    """One kind of work with what the words say of it."""

    kind: str
    details: dict[str, Any] = field(default_factory=dict)
    readings: dict[str, float] = field(default_factory=dict)  # quantity: value in SI


@dataclass
class Understood:
    """The kinds of work that a text names, and the pieces of it that name none."""

    works: list[Work] = field(default_factory=list)
    left: list[str] = field(default_factory=list)


@lru_cache(maxsize=1)
def phrases() -> dict[str, tuple[str, Mapping[str, object]]]:
    """Every phrase that names a kind of work, as ``normal`` has it."""
    known: dict[str, tuple[str, Mapping[str, object]]] = {}
    for kind in CareKind:
        known[normal(kind.label)] = known[normal(kind.value)] = (kind.value, {})
    for words, meaning in KIND_WORDS.items():
        known.setdefault(normal(words), meaning)
    for words, meaning in dictionaries.work().items():
        known.setdefault(words, meaning)
    return known


def understood(text: str) -> Understood:
    """What the words of a cell say was done."""
    result = Understood()
    for piece in (part.strip(" .-–") for part in _CUT.split(text[:LONGEST])):
        if not piece:
            continue
        work, rest = _piece(piece, result.works[-1] if result.works else None)
        if work is not None and (not result.works or work is not result.works[-1]):
            result.works.append(work)
        if rest:
            result.left.append(rest)
    if len(text) > LONGEST:
        result.left.append(text[LONGEST:])
    return result


def _piece(piece: str, before: Work | None) -> tuple[Work | None, str]:
    """The work that a piece names, or adds figures to; and what of it is not understood."""
    plain = _OLD_VOLTS.sub(r"\1.\2 V", piece)
    gravity = _GRAVITY.search(plain)
    words = normal(_GRAVITY.sub(" ", _AMOUNT.sub(" ", plain))).split()
    if _negated(normal(plain)):
        return None, piece
    found = _phrase(words)
    work = before
    left = words
    if found is not None:
        kind, says, left = found
        work = Work(kind, dict(says))
    amounts = _AMOUNT.findall(plain)
    if work is None and (gravity or any(unit_named("V", unit) for _, unit in amounts)):
        work = Work(CareKind.BATTERY_READING)
    if work is not None and gravity:
        value = float(gravity[1].replace(",", "."))
        work.readings[_GRAVITY_CODE] = value / 1000 if value > 10 else value
    used = [work is not None and _add(work, figures, unit) for figures, unit in amounts]
    extra = [word for word in left if word not in dictionaries.small()]
    some = found is not None or any(used) or gravity is not None
    return work if some else None, "" if some and not extra and all(used) else piece


def _negated(text: str) -> bool:
    return any(re.search(rf"\b{re.escape(word)}\b", text) for word in dictionaries.negations())


def _phrase(words: list[str]) -> tuple[str, Mapping[str, object], list[str]] | None:
    """The longest phrase among the words, and the words around it."""
    known = phrases()
    for length in range(min(MOST_WORDS, len(words)), 0, -1):
        for start in range(len(words) - length + 1):
            meaning = known.get(" ".join(words[start : start + length]))
            if meaning is not None:
                return meaning[0], meaning[1], words[:start] + words[start + length :]
    return None


def _add(work: Work, figures: str, unit: str) -> bool:
    """Put an amount where the kind of work takes one of its unit; False where it takes none."""
    try:
        value = numbers.number(figures, numbers.decimal_sign([figures]))
    except ValueError:
        return False
    for key, rule in DETAILS.get(work.kind, {}).items():
        written = unit_named(rule.unit, unit) if isinstance(rule, Number) else None
        if written and key not in work.details:
            work.details[key] = written.to_si(value)
            return True
    for quantity in QUANTITIES:
        written = unit_named(quantity.unit, unit) if quantity.unit == "V" else None
        if written and quantity.code not in work.readings:
            work.readings[quantity.code] = written.to_si(value)
            return True
    return False
