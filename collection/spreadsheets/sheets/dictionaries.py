"""The words of tables in five languages (``spreadsheets/dictionaries``): read once, kept without accents."""

import re
import tomllib
import unicodedata
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

LANGUAGES = ("en", "de", "fr", "it", "es")  # where two share a word, the first has it
_FOLDER = Path(__file__).parents[1] / "dictionaries"
Says = Mapping[str, object]


def normal(text: str) -> str:
    """Words without capitals, accents, brackets and signs."""
    plain = unicodedata.normalize("NFKD", text).casefold()
    plain = "".join(sign for sign in plain if not unicodedata.combining(sign))
    return " ".join(re.sub(r"[^a-z0-9%]+", " ", plain).split())


@lru_cache(maxsize=1)
def _all() -> tuple[dict[str, Any], ...]:
    return tuple(tomllib.loads((_FOLDER / f"{it}.toml").read_text("utf-8")) for it in LANGUAGES)


def _parted(text: str) -> Iterator[str]:
    return (word for word in (part.strip() for part in text.split("|")) if word)


def _words(section: str, key: str) -> Iterator[str]:
    for language in _all():
        yield from _parted(language.get(section, {}).get(key, ""))


def headings(kind: str) -> Iterator[tuple[str, str]]:
    """Field and a heading that means it, of every language."""
    for language in _all():
        for key, words in language["headings"][kind].items():
            yield from ((key, word) for word in _parted(words))


@lru_cache(maxsize=4)
def sheet_names(kind: str) -> frozenset[str]:
    """What a sheet of this kind is called."""
    return frozenset(normal(word) for word in _words("sheets", kind))


@lru_cache(maxsize=1)
def flags() -> dict[str, bool]:
    """Yes and no; a sign stands as it is."""
    no = {word.casefold(): False for word in _words("flags", "no")}
    return no | {word.casefold(): True for word in _words("flags", "yes")}


@lru_cache(maxsize=1)
def unknown() -> frozenset[str]:
    """What people write where they do not know."""
    return frozenset(word.casefold() for word in ("", *_words("unknown", "words")))


@lru_cache(maxsize=1)
def about() -> frozenset[str]:
    """Words before a number that is an estimate."""
    return frozenset(word.casefold() for word in _words("about", "words"))


@lru_cache(maxsize=1)
def negations() -> frozenset[str]:
    """Words that turn a piece of work into one that was not done."""
    return frozenset(normal(word) for word in _words("negations", "words"))


@lru_cache(maxsize=1)
def totals() -> frozenset[str]:
    """How a line of totals begins."""
    return frozenset(normal(word) for word in _words("totals", "words"))


@lru_cache(maxsize=1)
def small() -> frozenset[str]:
    """Words that say nothing beside a piece of work."""
    return frozenset(normal(word) for word in _words("small", "words"))


@lru_cache(maxsize=1)
def months() -> dict[str, str]:
    """Names of months: their English three letters."""
    return {
        normal(word): month
        for language in _all()
        for month, words in language["months"].items()
        for word in (month, *_parted(words))
    }


@lru_cache(maxsize=1)
def weekdays() -> frozenset[str]:
    """Names of days, which say nothing beside a date."""
    return frozenset(normal(word) for word in _words("weekdays", "words"))


@lru_cache(maxsize=1)
def units() -> dict[str, str]:
    """Names of units in other languages: ours."""
    pairs = ((unit, words) for language in _all() for unit, words in language["units"].items())
    return {normal(word): unit for unit, words in pairs for word in _parted(words)}


@lru_cache(maxsize=64)
def choices(field: str) -> dict[str, str]:
    """Words for the choices of a field: the codes."""
    known: dict[str, str] = {}
    for language in _all():
        for code, words in language["choices"].get(field, {}).items():
            for word in _parted(words):
                known.setdefault(normal(word), code)
    return known


@lru_cache(maxsize=1)
def work() -> dict[str, tuple[str, dict[str, object]]]:
    """Words for kinds of work: the kind, and what they say beyond it."""
    known: dict[str, tuple[str, dict[str, object]]] = {}
    for language in _all():
        for row in language["work"]:
            for word in _parted(row["words"]):
                known.setdefault(normal(word), (row["kind"], dict(row.get("says", {}))))
    return known
