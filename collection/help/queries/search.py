"""Full-text search over the rendered pages of Help: no index of its own, the pages are the index."""

import re
from dataclasses import dataclass
from functools import cache

from django.utils.html import format_html
from django.utils.safestring import SafeString

from collection.help.contents import PAGES, HelpPage
from collection.help.texts import blocks, body

HEADINGS = ("h2", "h3", "dt")  # each that has an id, so that a link leads to it
MOST_RESULTS = 20
EXCERPT_CHARACTERS = 220
ENDINGS = ("ies", "ing", "es", "ed", "er", "s", "y", "e")  # so that charger, charges and charging meet
SHORTEST_STEM = 4
# asked for without being looked for
WORD = re.compile(r"\w+")
FILLERS = frozenset(
    WORD.findall(
        "a an and are can do does for from how i in is it my of on or the to what when where which who why"
        " with you your"
    )
)


@dataclass(frozen=True)
class Section:
    """Part of a page under one heading; ``anchor`` is empty for what stands above the first."""

    page: HelpPage
    heading: str
    anchor: str
    text: str


@dataclass(frozen=True)
class Result:
    """A section that was found, with the words that were asked for marked in an excerpt of it."""

    section: Section
    excerpt: SafeString


@cache
def sections() -> tuple[Section, ...]:
    """Every page of Help cut at its headings; read once a process."""
    return tuple(section for page in PAGES.values() for section in cut(page, body(page)))


def cut(page: HelpPage, html: str) -> list[Section]:
    """The sections of a page."""
    heading, anchor, words, sections = "", "", [page.about], []
    for block in blocks(html):
        if block.tag in HEADINGS and block.anchor:
            sections.append(Section(page, heading, anchor, " ".join(words)))
            heading, anchor, words = block.text, block.anchor, []
        else:
            words.append(block.text)
    sections.append(Section(page, heading, anchor, " ".join(words)))
    return sections


def search(asked: str) -> list[Result]:
    """The sections that hold most of the words asked for; those with them in title or heading first."""
    patterns = [_pattern(word) for word in _words(asked)]
    ranked = sorted(
        ((_rank(section, patterns), at) for at, section in enumerate(sections())),
        key=lambda pair: (tuple(-value for value in pair[0]), pair[1]),
    )
    most = ranked[0][0][0] if patterns else 0
    best = [sections()[at] for rank, at in ranked if most and rank[0] == most]
    return [Result(section, _excerpt(section.text, patterns)) for section in best[:MOST_RESULTS]]


def _words(asked: str) -> list[str]:
    words = list(dict.fromkeys(WORD.findall(asked.casefold())))
    return [word for word in words if word not in FILLERS] or words


def _pattern(word: str) -> re.Pattern[str]:
    """The word at the beginning of any word, with whatever ending."""
    for ending in ENDINGS:
        stem = word.removesuffix(ending)
        if stem != word and len(stem) >= SHORTEST_STEM:
            word = stem
            break
    return re.compile(rf"(?<!\w){re.escape(word)}\w*", re.IGNORECASE)


def _rank(section: Section, patterns: list[re.Pattern[str]]) -> tuple[int, int, int]:
    """How many of the words it holds, how many of them above the text, how often they come."""
    above = f"{section.page.title} {section.heading}"
    whole = f"{above} {section.text}"
    return (
        sum(bool(pattern.search(whole)) for pattern in patterns),
        sum(bool(pattern.search(above)) for pattern in patterns),
        sum(len(pattern.findall(section.text)) for pattern in patterns),
    )


def _excerpt(text: str, patterns: list[re.Pattern[str]]) -> SafeString:
    """A stretch of the text about its first hit, every hit in it marked."""
    first = min((hit.start() for pattern in patterns if (hit := pattern.search(text))), default=0)
    start = max(0, first - EXCERPT_CHARACTERS // 3)
    start = text.rfind(" ", 0, start) + 1 if start else 0
    end = start + EXCERPT_CHARACTERS
    end = len(text) if end >= len(text) else text.rfind(" ", start, end)
    shown = f"{'… ' if start else ''}{text[start:end]}{' …' if end < len(text) else ''}"
    return mark(shown, patterns)


def mark(text: str, patterns: list[re.Pattern[str]]) -> SafeString:
    """The text with each hit in ``<mark>``."""
    any_of = re.compile("|".join(pattern.pattern for pattern in patterns), re.IGNORECASE)
    marked, at = SafeString(""), 0
    for hit in any_of.finditer(text):
        marked += format_html("{}<mark>{}</mark>", text[at : hit.start()], hit[0])
        at = hit.end()
    return marked + format_html("{}", text[at:])
