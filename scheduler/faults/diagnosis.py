"""One car's search in words: causes and chances, what contradicts, the tests next, an honest end."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from scheduler.condition.likelihood import in_words
from scheduler.faults.model import Cause, Floats, Probe, Tree, for_volts
from scheduler.faults.search import (
    FOUND,
    MOST_READINGS,
    NO_TEST,
    NOT_LISTED,
    OPEN,
    Board,
    Step,
    begin,
    bits,
    named_when_open,
    next_step,
)
from scheduler.recommission.stages.acts import ALL_ACTS, Act
from scheduler.vocabulary.errors import BadInput

UNLIKELY_BELOW = 0.02  # chance below which a cause is told as unlikely by now
SPEAKS_AGAINST = 0.3  # a result that a cause shows so many times less often than its rivals speaks against it
NAMED_OF_OUTCOME = 2  # causes named for each way that a test can come out
ANOTHER = "Another person does the confirming tests of both with other instruments."
Readings = Sequence[tuple[str, str | None]]


class Progress(StrEnum):
    """How far the search is."""

    SEARCHING = "still several causes"
    FOUND = "found, and confirmed by its own test"
    NOT_LISTED = "something that is not on this list"
    OPEN = "open: no test left that is worth its time"
    WAITS = "each test that is left needs a permission first"


@dataclass(frozen=True)
class Suspect:
    """A cause with its chance."""

    cause: str
    label: str
    chance: float
    words: str
    remedy: str


@dataclass(frozen=True)
class Unlikely:
    """A cause that results speak against, and the tests whose results do."""

    cause: str
    label: str
    by: tuple[str, ...]


@dataclass(frozen=True)
class Proposal:
    """A test worth doing: in bits what it promises, its minutes, acts and cautions, and why.

    ``repeat``: its result contradicts the leader and is to be taken again. ``confirms``: the cause it would
    confirm.
    """

    test: str
    do: str
    gain_bits: float
    minutes: float
    acts: tuple[Act, ...]
    caution: str
    reason: str
    repeat: bool
    confirms: str


@dataclass(frozen=True)
class Diagnosis:
    """The answer so far. ``barred``: useful tests that the permissions held do not allow, the best first.

    ``contradicts``: tests whose results the leader would hardly ever show. ``settles``: what would settle an
    open end. ``call``: whom to call.
    """

    symptom: str
    progress: Progress
    suspects: tuple[Suspect, ...]
    unlikely: tuple[Unlikely, ...]
    proposals: tuple[Proposal, ...]
    barred: tuple[Proposal, ...]
    contradicts: tuple[str, ...]
    settles: tuple[str, ...]
    caution: str
    call: str


def diagnose(
    tree: Tree, readings: Readings, allowed: frozenset[Act] = ALL_ACTS, volts: int | None = None
) -> Diagnosis:
    """What the results make of the causes, and what to do next, the best first.

    ``readings``: (test, outcome) as they were taken, None for "could not be done"; BadInput names an
    unknown one.
    ``volts``: 6, 12 or 24, for the values in the words; None gives all three.

    >>> from scheduler.faults.table import TREES
    >>> diagnose(TREES["cranks-no-spark"], [("points_ohm", "high")]).suspects[0].cause
    'points'
    """
    may = np.array([probe.acts <= allowed for probe in tree.probes])
    board, free = _board(tree, readings, may), _board(tree, readings, np.ones_like(may))
    step, without = next_step(board), next_step(free)
    proposals = _proposals(board, step, volts)
    barred = tuple(one for one in _proposals(free, without, volts) if not may[tree.place[one.test]])
    progress = _progress(step, barred)
    return Diagnosis(
        tree.symptom,
        progress,
        _suspects(tree, step.chances[0], progress),
        _unlikely(board, step.chances[0]),
        proposals,
        barred,
        tuple(tree.probes[i].key for i in np.flatnonzero(step.contradicts[0])),
        _settles(board, step, barred, volts) if progress in (Progress.OPEN, Progress.WAITS) else (),
        tree.caution,
        tree.call,
    )


def _board(tree: Tree, readings: Readings, may: np.ndarray) -> Board:
    board = begin(tree, 1, may)
    first = np.zeros(1, np.int64)
    for test, outcome in readings:
        place = np.array([_place(tree, test)])
        if board.readings[0, place[0]] < MOST_READINGS:
            board.record(first, place, np.array([_outcome(tree.probe(test), outcome)]))
    return board


def _place(tree: Tree, test: str) -> int:
    return tree.place[tree.probe(test).key]


def _outcome(probe: Probe, outcome: str | None) -> int:
    keys = [one.key for one in probe.outcomes]
    if outcome is not None and outcome not in keys:
        raise BadInput("answer", f"{probe.key}: {outcome!r} is none of {', '.join(keys)}")
    return NO_TEST if outcome is None else keys.index(outcome)


def _progress(step: Step, barred: tuple[Proposal, ...]) -> Progress:
    ends = {FOUND: Progress.FOUND, NOT_LISTED: Progress.NOT_LISTED}
    state = int(step.state[0])
    if state == OPEN:
        return Progress.WAITS if barred else Progress.OPEN
    return ends.get(state, Progress.SEARCHING)


def _suspects(tree: Tree, chances: Floats, progress: Progress) -> tuple[Suspect, ...]:
    ended = progress in (Progress.OPEN, Progress.WAITS)
    named = named_when_open(tree, chances[None])[0] if ended else chances >= UNLIKELY_BELOW
    ranked = sorted(zip(tree.causes, chances, named, strict=True), key=lambda row: (-row[1], row[0].key))
    return tuple(_suspect(cause, float(chance)) for cause, chance, kept in ranked if kept)


def _suspect(cause: Cause, chance: float) -> Suspect:
    return Suspect(cause.key, cause.label, chance, in_words(min(chance, 1.0)), cause.remedy)


def _unlikely(board: Board, chances: Floats) -> tuple[Unlikely, ...]:
    """The causes that results speak against, with the tests that did."""
    tree, done = board.tree, np.flatnonzero(board.readings[0])
    typical = (board.given[0] * chances).sum(axis=1)
    against = board.given[0] - typical[:, None] < np.log(SPEAKS_AGAINST)
    return tuple(
        Unlikely(cause.key, cause.label, tuple(tree.probes[t].key for t in done if against[t, i]))
        for i, cause in enumerate(tree.causes)
        if chances[i] < UNLIKELY_BELOW and against[done, i].any()
    )


def _proposals(board: Board, step: Step, volts: int | None) -> tuple[Proposal, ...]:
    """The next test, then the others by what they tell for their effort; none to confirm what is unlikely."""
    first = int(step.test[0])
    if first == NO_TEST:
        return ()
    confirms = board.tree.confirms
    worth = np.where((confirms >= 0) & (step.chances[0, confirms] < UNLIKELY_BELOW), 0.0, step.worth[0])
    ranked = [int(i) for i in np.argsort(-worth, kind="stable") if worth[i] > 0 and i != first]
    return tuple(_proposal(board, step, i, volts) for i in (first, *ranked))


def _proposal(board: Board, step: Step, place: int, volts: int | None) -> Proposal:
    probe = board.tree.probes[place]
    repeat = bool(board.readings[0, place])
    gain = float(step.worth[0, place]) * probe.effort_minutes
    return Proposal(
        probe.key,
        for_volts(probe.do, volts),
        gain,
        probe.minutes,
        tuple(act for act in Act if act in probe.acts),
        probe.caution,
        _reason(board.tree, step.chances[0], probe, place, volts),
        repeat,
        next((cause.label for cause in board.tree.causes if cause.key == probe.confirms), ""),
    )


def _reason(tree: Tree, chances: Floats, probe: Probe, place: int, volts: int | None) -> str:
    """In words, what each outcome would make likely."""
    sentences = []
    for outcome, row in zip(probe.outcomes, tree.table[place], strict=False):
        after = row * chances
        after /= after.sum()
        lead = np.argsort(-after, kind="stable")[:NAMED_OF_OUTCOME]
        likely = ", ".join(f"{tree.causes[i].label} {_percent(after[i])}" for i in lead if after[i] >= 0.01)
        sentences.append(f"{_first_up(for_volts(outcome.words, volts))}: {likely}.")
    return " ".join(sentences)


def _first_up(words: str) -> str:
    return words[:1].upper() + words[1:]


def _percent(chance: float) -> str:
    return "over 99 %" if chance > 0.99 else f"{chance:.0%}".replace("%", " %")


def _settles(board: Board, step: Step, barred: tuple[Proposal, ...], volts: int | None) -> tuple[str, ...]:
    """What would settle an open end: the test not allowed, what could not be done, another person."""
    if barred:
        return tuple(one.do for one in barred[:2])
    tree, named = board.tree, named_when_open(board.tree, step.chances)[0]
    telling = bits(tree.table, step.chances)[0]
    missing = [
        i
        for i, probe in enumerate(tree.probes)
        if board.failed[0, i] and (not probe.confirms or named[tree.confirms[i]])
    ]
    best = sorted(missing, key=lambda i: -telling[i])[:2]
    acts = tuple(for_volts(tree.probes[i].do, volts) for i in best)
    return acts or (ANOTHER,)
