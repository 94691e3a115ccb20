"""Which test next: the causes still possible, what each result excludes, and the test worth most.

Equations: chances follow Bayes' rule, P(cause | results) ~ weight x product of likelihoods. A test's
worth is the fall in entropy that it promises, in bits,

    gain = H(now) - sum over outcomes of P(outcome) x H(after outcome),   H = - sum p log2 p,

divided by its effort: minutes, and for danger so many minutes of detour (policy). A cause is found
when every other has been excluded, not merely when it leads. One fault at a time is assumed; where
results exclude every cause, one of them is wrong or there are two faults, and it says so.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from scheduler.condition.likelihood import in_words
from scheduler.faults.model import DANGER_MINUTES, Danger, Probe, Tree
from scheduler.recommission.tags import Permission
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]
LEAST_GAIN_BITS = 1e-9  # rounding, not information
ALL_PERMISSIONS = frozenset(Permission)


class Progress(StrEnum):
    """How far the search is."""

    FOUND = "one cause left"
    OPEN = "still several causes"
    STUCK = "no test left that tells them apart"
    CONTRADICTION = "the results exclude every cause"


@dataclass(frozen=True)
class Suspect:
    """A cause that is still possible."""

    cause: str
    label: str
    chance: float
    words: str
    remedy: str


@dataclass(frozen=True)
class RuledOut:
    """A cause that results exclude, and the tests that did it."""

    cause: str
    label: str
    by: tuple[str, ...]


@dataclass(frozen=True)
class Proposal:
    """A test worth doing: what it promises, in bits, for its minutes and danger, and why."""

    test: str
    do: str
    outcomes: tuple[tuple[str, str], ...]
    gain_bits: float
    minutes: float
    danger: Danger
    caution: str
    reason: str


@dataclass(frozen=True)
class Diagnosis:
    """The answer so far. ``doubtful``: results whose removal would leave a cause, where all are excluded.

    ``barred``: tests that the car's permissions do not allow yet.
    """

    symptom: str
    progress: Progress
    suspects: tuple[Suspect, ...]
    ruled_out: tuple[RuledOut, ...]
    proposals: tuple[Proposal, ...]
    barred: tuple[str, ...]
    doubtful: tuple[str, ...]
    caution: str


def diagnose(
    tree: Tree, answers: Mapping[str, str | None], allowed: frozenset[Permission] = ALL_PERMISSIONS
) -> Diagnosis:
    """What the answers leave possible, and what to test next, the best first.

    ``answers``: outcome by test, in any order; None for "could not do".

    >>> from scheduler.faults.table import TREES
    >>> found = diagnose(TREES["cranks-no-spark"], {"points_ohm": "high"})
    >>> found.suspects[0].cause
    'points'
    """
    rows = {key: _row(tree, key, answer) for key, answer in answers.items() if answer is not None}
    for key in answers:
        tree.probe(key)
    chances = chances_after(tree, rows)
    untried = [probe for probe in tree.probes if probe.key not in answers]
    may = [probe for probe in untried if probe.needs is None or probe.needs in allowed]
    proposals = _proposals(tree, chances, may) if np.count_nonzero(chances) > 1 else ()
    return Diagnosis(
        tree.symptom,
        _progress(chances, proposals),
        _suspects(tree, chances),
        _ruled_out(tree, rows),
        proposals,
        tuple(probe.key for probe in untried if probe not in may),
        () if chances.any() else _doubtful(tree, rows),
        tree.caution,
    )


def _row(tree: Tree, key: str, answer: str) -> Floats:
    keys = [outcome.key for outcome in tree.probe(key).outcomes]
    if answer not in keys:
        raise BadInput("answer", f"{key}: {answer!r} is none of {', '.join(keys)}")
    return np.asarray(tree.likelihoods[key][keys.index(answer)])


def chances_after(tree: Tree, rows: Mapping[str, Floats]) -> Floats:
    """Chance of each cause, shape (causes,); all zero where the results exclude every cause."""
    chances = tree.weights
    for probe in tree.probes:  # in the tree's order, so that the order of the answers never matters
        chances = chances * rows.get(probe.key, 1.0)
    total = chances.sum()
    return np.asarray(chances / total if total > 0 else chances)


def entropy_bits(chances: Floats) -> Floats:
    """Entropy in bits over the last axis; zero where nothing is possible."""
    logs = np.log2(chances, out=np.zeros_like(chances), where=chances > 0)
    return np.asarray(-(chances * logs).sum(axis=-1))


def gain_bits(likelihoods: Floats, chances: Floats) -> float:
    """Entropy that a test with ``likelihoods`` (outcomes, causes) is expected to remove."""
    joint = likelihoods * chances
    each = joint.sum(axis=1)
    after = joint / np.where(each > 0, each, 1.0)[:, None]
    return float(entropy_bits(chances) - (each * entropy_bits(after)).sum())


def effort_minutes(probe: Probe) -> float:
    """Minutes, and the detour that its danger is worth."""
    return probe.minutes + DANGER_MINUTES[probe.danger]


def _proposals(tree: Tree, chances: Floats, probes: list[Probe]) -> tuple[Proposal, ...]:
    gains = {probe.key: gain_bits(tree.likelihoods[probe.key], chances) for probe in probes}
    useful = [probe for probe in probes if gains[probe.key] > LEAST_GAIN_BITS]
    ranked = sorted(useful, key=lambda probe: (-gains[probe.key] / effort_minutes(probe), probe.key))
    return tuple(_proposal(tree, chances, probe, gains[probe.key]) for probe in ranked)


def _proposal(tree: Tree, chances: Floats, probe: Probe, gain: float) -> Proposal:
    outcomes = tuple((outcome.key, outcome.words) for outcome in probe.outcomes)
    return Proposal(
        probe.key,
        probe.do,
        outcomes,
        gain,
        probe.minutes,
        probe.danger,
        probe.caution,
        f"{_split(tree, chances, probe)} {gain:.2f} bits for {probe.minutes:g} minutes, danger "
        f"{probe.danger.name.lower()}.",
    )


def _split(tree: Tree, chances: Floats, probe: Probe) -> str:
    """In words, what each outcome would leave."""
    said = []
    for outcome, row in zip(probe.outcomes, tree.likelihoods[probe.key], strict=True):
        left = [cause.label for cause, chance in zip(tree.causes, chances * row, strict=True) if chance > 0]
        said.append(f"{outcome.words.capitalize()}: {', '.join(left) or 'nothing on the list'}.")
    return " ".join(said)


def _progress(chances: Floats, proposals: tuple[Proposal, ...]) -> Progress:
    possible = np.count_nonzero(chances)
    if possible == 0:
        return Progress.CONTRADICTION
    if possible == 1:
        return Progress.FOUND
    return Progress.OPEN if proposals else Progress.STUCK


def _suspects(tree: Tree, chances: Floats) -> tuple[Suspect, ...]:
    ranked = sorted(zip(tree.causes, chances, strict=True), key=lambda pair: (-pair[1], pair[0].key))
    return tuple(
        Suspect(cause.key, cause.label, float(chance), in_words(min(float(chance), 1.0)), cause.remedy)
        for cause, chance in ranked
        if chance > 0
    )


def _ruled_out(tree: Tree, rows: Mapping[str, Floats]) -> tuple[RuledOut, ...]:
    by = [tuple(sorted(key for key, row in rows.items() if row[i] == 0)) for i in range(len(tree.causes))]
    return tuple(
        RuledOut(cause.key, cause.label, tests) for cause, tests in zip(tree.causes, by, strict=True) if tests
    )


def _doubtful(tree: Tree, rows: Mapping[str, Floats]) -> tuple[str, ...]:
    """Results whose removal would leave some cause possible: the ones to do again first."""
    return tuple(
        key
        for key in sorted(rows)
        if chances_after(tree, {other: row for other, row in rows.items() if other != key}).any()
    )
