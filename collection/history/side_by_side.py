"""Several stories beside each other, line by line, for somebody who has to choose."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from collection.history.grades import RECORD
from collection.history.kept import count_days
from collection.history.limits import Limit
from collection.history.outlook import OutlookLine
from collection.history.story import Answer, Story
from collection.life.duties import ASKED

PLAN = "The steps of its recommissioning"
MOST = 6  # columns that still fit a page and a mind


@dataclass(frozen=True)
class Row:
    """One line of the comparison: a cell a car; ``part`` marks the cost of one system."""

    title: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Section:
    """Lines under one heading."""

    title: str
    rows: tuple[Row, ...]


def side_by_side(stories: Sequence[Story]) -> list[Section]:
    """Everything that can be compared; there is no mark and no winner."""
    return [
        Section("What a buyer asks", _answers(stories)),
        Section("How it stood", _rows(stories, HOW)),
        Section("How it was kept", (*_rows(stories, KEPT), *_limits(stories))),
        Section("What is open", _rows(stories, OPEN)),
        Section("Condition outlook", _outlook(stories)),
        *([Section("Estimated cost of what it needs next", costs)] if (costs := _costs(stories)) else []),
    ]


def _answers(stories: Sequence[Story]) -> tuple[Row, ...]:
    """The first page of each history, question by question."""
    return tuple(
        Row(of_all[0].question, tuple(_in_a_cell(one) for one in of_all))
        for of_all in zip(*(story.answers for story in stories), strict=True)
    )


def _in_a_cell(answer: Answer) -> str:
    """Lapses are a list, without full stops; all else are sentences."""
    return f"{answer.text} {('; ' if answer.key == 'missed' else ' ').join(answer.more)}".strip()


Cell = Callable[[Story], str]


def _rows(stories: Sequence[Story], cells: dict[str, Cell]) -> tuple[Row, ...]:
    return tuple(
        Row(title, tuple(_capital(cell(story)) for story in stories)) for title, cell in cells.items()
    )


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _day(value: object) -> str:
    return f"{value:%-d %b %Y}" if value else "not known"


def _air(story: Story) -> str:
    return story.stays[-1].air or "not known" if story.stays else "not known"


def _shelter(story: Story) -> str:
    return story.stays[-1].under or "not known" if story.stays else "not known"


def _late(story: Story) -> str:
    asked, late, days = (
        sum(getattr(line, name) for line in story.kept) for name in ("asked", "late", "total_days")
    )
    now = sum(bool(line.still_days) for line in story.kept)
    text = f"{late} of {asked} times, {count_days(days)} in all"
    text = f"{text}; {now} late now" if now else text
    return f"{text}; {story.asked_for}"


def _done(story: Story) -> str:
    in_window, done = (sum(getattr(line, name) for line in story.kept) for name in ("in_window", "done"))
    return f"{done} ×, {in_window} of these when asked for and in the window; {story.asked_for}"


def _silences(story: Story) -> str:
    spells = [(gap.until - gap.since).days for gap in story.missed if gap.until and "no entry" in gap.what]
    text = f"{len(spells)}, the longest {count_days(max(spells))}" if spells else "none"
    return f"{text}; {story.known.words}"


HOW: dict[str, Cell] = {
    "Kept by": lambda story: story.kept_by,
    "Told from": lambda story: _day(story.first),
    "Last road use": lambda story: story.condition.stood if story.condition else "not told",
    "Care regime": lambda story: str(story.vehicle.get_regime_display()),
    "Stands now": _shelter,
    "Air there": _air,
    "Places": lambda story: f"{len(story.stays)}; {story.known.words}",
}
KEPT: dict[str, Cell] = {
    "Entries in the log": lambda story: f"{len(story.standing)}; {story.known.words}",
    "With a reading or photo, made at the time": lambda story: (
        f"{sum(it.grade <= RECORD for it in story.standing)}; {story.known.words}"
    ),
    "Chain": lambda story: story.seal.brief if story.seal else "nothing chained yet",
    "Care that was done": _done,
    "Asked for and beyond its window": _late,
    "Times without any entry": _silences,
}
OPEN: dict[str, Cell] = {
    "Tags": lambda story: "; ".join(tag.words for tag in story.tags) or "none",
    "Found, not yet mended": lambda story: "; ".join(it.words for it in story.open_faults) or "nothing",
    "Asked for now": lambda story: (
        ", ".join(
            told.line.title.lower()
            for system in story.systems
            for told in system.duties
            if told.line.state in ASKED
        )
        or "nothing"
    ),
}


def _limits(stories: Sequence[Story]) -> tuple[Row, ...]:
    """By key, for their titles hold each organisation's own thresholds."""
    titles = {limit.key: limit.title for story in stories for limit in story.limits}
    by_story = [{limit.key: limit for limit in story.limits} for story in stories]
    return tuple(
        Row(title, tuple(_limit(one[key]) if key in one else "Not known" for one in by_story))
        for key, title in titles.items()
    )


def _limit(limit: Limit) -> str:
    return _capital("; ".join(words for words in (limit.said, limit.sure) if words))


def _lines(stories: Sequence[Story], cell: Callable[[OutlookLine], str]) -> tuple[Row, ...]:
    by_story = [
        {line.title: line for line in story.condition.lines} if story.condition else {} for story in stories
    ]
    titles = dict.fromkeys(title for one in by_story for title in one)
    return tuple(
        Row(title, tuple(cell(one[title]) if title in one else "not told" for one in by_story))
        for title in titles
    )


def _outlook(stories: Sequence[Story]) -> tuple[Row, ...]:
    return _lines(stories, _likely)


def _likely(line: OutlookLine) -> str:
    texts = [f"{part.label.lower()}: trouble {part.words}" for part in line.parts]
    if line.unknown:
        texts.append(line.unknown.rstrip("."))
    return _capital("; ".join(texts)) or "Likely fine"


def _costs(stories: Sequence[Story]) -> tuple[Row, ...]:
    totals = [story.condition.total if story.condition else "" for story in stories]
    if not any(totals):
        return ()
    plans = tuple(story.condition.plan or "none" if story.condition else "not told" for story in stories)
    planned = [Row(PLAN, plans)] if any(story.condition and story.condition.plan for story in stories) else []
    all_together = Row("All of these together", tuple(total or "not told" for total in totals))
    return (*_lines(stories, lambda line: line.cost or "not told"), *planned, all_together)
