"""Random single faults led to their end: right, wrong, open, and the minutes it took, beside the goals.

uv run python -m tests.bench.bench_faults [faults a tree]
"""

import sys
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from scheduler.faults.model import OTHER, Tree
from scheduler.faults.search import (
    FOUND,
    MOST_READINGS,
    NO_TEST,
    NOT_LISTED,
    SAME_EYES,
    SEARCHING,
    Board,
    begin,
    named_when_open,
    next_step,
)
from scheduler.faults.table import TREES
from tests.scheduler.worlds.faulty_cars import CONFIRMS, NO_CONFIRM, SEEMS_TO, WORLDS, Car
from tests.scheduler.worlds.least_minutes import efforts, small_tree

MOST_STEPS = 60


@dataclass
class Truth:
    """What tests would show at n cars: ``cause`` (n,), ``shown`` (readings, n, T) with -1 for could not."""

    cause: np.ndarray
    shown: np.ndarray


def draw_causes(tree: Tree, count: int, random: np.random.Generator) -> np.ndarray:
    return random.choice(len(tree.causes), size=count, p=tree.prior)


def usual(tree: Tree, count: int, random: np.random.Generator) -> Truth:
    """Each cause shows its most usual results, and nothing is impossible."""
    cause = draw_causes(tree, count, random)
    shown = tree.table.argmax(axis=1)[:, cause].T
    return Truth(cause, np.stack([shown] * MOST_READINGS))


def from_tables(tree: Tree, count: int, random: np.random.Generator) -> Truth:
    """Results drawn from the tables; a share of readings only sees the one before again."""
    cause = draw_causes(tree, count, random)
    chances = tree.table[:, :, cause].transpose(2, 0, 1)  # n, T, O
    drawn = (random.random((MOST_READINGS, *chances.shape[:2], 1)) > chances.cumsum(axis=2)[None]).sum(axis=3)
    drawn = np.minimum(drawn, np.array([len(p.outcomes) for p in tree.probes]) - 1)
    for before, again in pairwise(drawn):
        again[:] = np.where(random.random(again.shape) < SAME_EYES, before, again)
    failed = random.random(drawn.shape[1:]) < np.array([p.could_not for p in tree.probes])
    return Truth(cause, np.where(failed, NO_TEST, drawn))


def from_world(tree: Tree, count: int, random: np.random.Generator) -> Truth:
    """Results of cars in a world apart from the tables."""
    cause = draw_causes(tree, count, random)
    shown = np.zeros((MOST_READINGS, count, len(tree.probes)), np.int64)
    places = [[outcome.key for outcome in probe.outcomes] for probe in tree.probes]
    for i in range(count):
        fault = tree.causes[cause[i]].key
        results = WORLDS[tree.symptom](Car(fault, random))
        for t, probe in enumerate(tree.probes):
            if probe.confirms:
                share = CONFIRMS if probe.confirms == fault else SEEMS_TO
                there, misread, cannot = int(random.random() > share), 0.0, NO_CONFIRM
            else:
                outcome, misread, cannot = results[probe.key]
                there = places[t].index(outcome)
            if random.random() < cannot:
                shown[:, i, t] = NO_TEST
                continue
            for reading in range(MOST_READINGS):
                wrong = random.random() < misread
                step = int(random.integers(1, len(places[t]))) if wrong else 0
                shown[reading, i, t] = (there + step) % len(places[t])
    return Truth(cause, shown)


def misread_more(tree: Tree, truth: Truth, share: float, random: np.random.Generator) -> Truth:
    """One more reading in so many is taken for another outcome, confirming tests too."""
    outcomes = np.array([len(probe.outcomes) for probe in tree.probes])
    step = 1 + (random.random(truth.shown.shape) * (outcomes - 1)).astype(np.int64)
    wrong = (random.random(truth.shown.shape) < share) & (truth.shown >= 0)
    return Truth(truth.cause, np.where(wrong, (truth.shown + step) % outcomes, truth.shown))


@dataclass(frozen=True)
class Figures:
    """Shares of all; of the open ones the share whose cause is named; mean minutes and tests."""

    right: float
    wrong: float
    left_open: float
    among_two: float
    dead: float
    minutes: float
    tests: float


def lead(tree: Tree, truth: Truth) -> tuple[Board, np.ndarray, np.ndarray, np.ndarray]:
    """Every search to its end: the board, the ends, minutes and tests."""
    count = len(truth.cause)
    board = begin(tree, count)
    minutes, tests = np.zeros(count), np.zeros(count)
    took = np.array([probe.minutes for probe in tree.probes])
    state, rows = np.full(count, SEARCHING), np.arange(count)
    for _ in range(MOST_STEPS):
        step = next_step(board.take(rows))
        state[rows] = step.state
        going = step.state == SEARCHING
        rows, chosen = rows[going], step.test[going]
        if not len(rows):
            break
        reading = board.readings[rows, chosen]
        shown = truth.shown[reading, rows, chosen]
        minutes[rows] += np.where(shown >= 0, took[chosen], 0.0)
        tests[rows] += shown >= 0
        board.record(rows, chosen, shown)
    return board, state, minutes, tests


def figures(tree: Tree, truth: Truth) -> Figures:
    """Right: found the true cause, or left the list where the cause is not on it."""
    board, state, minutes, tests = lead(tree, truth)
    chances = board.chances()
    listed = np.array([cause.key != OTHER for cause in tree.causes])[truth.cause]
    named = chances.argmax(axis=1)
    ended = (state == FOUND) | (state == NOT_LISTED)
    right = ended & (named == truth.cause)
    wrong = ended & (named != truth.cause)
    assert not np.any((state == NOT_LISTED) & right & listed)
    still = ~ended & (state != SEARCHING)
    two = named_when_open(tree, chances)[np.arange(len(chances)), truth.cause]
    among = two[still].mean() if still.any() else 1.0
    return Figures(
        right.mean(),
        wrong.mean(),
        still.mean(),
        among,
        (state == SEARCHING).mean(),
        minutes.mean(),
        tests.mean(),
    )


WAYS = {
    "usual results": usual,
    "tables": from_tables,
    "tables, 5 % more misread": lambda t, n, r: misread_more(t, from_tables(t, n, r), 0.05, r),
    "world apart": from_world,
    "world apart, 5 % more misread": lambda t, n, r: misread_more(t, from_world(t, n, r), 0.05, r),
}


def main(count: int) -> None:
    out = sys.stdout.write
    out(f"{count} faults a tree; shares in %\n\n")
    out(f"{'':26}{'right':>8}{'wrong':>8}{'open':>8}{'in two':>8}{'dead':>6}{'min':>7}{'tests':>7}\n")
    for way, drawn in WAYS.items():
        out(f"{way}\n")
        rows = []
        for tree in TREES.values():
            found = figures(tree, drawn(tree, count, np.random.default_rng(1905)))
            rows.append(found)
            out(f"  {tree.symptom:24}{_line(found)}\n")
        mean = Figures(*np.mean([[getattr(row, f) for f in Figures.__annotations__] for row in rows], axis=0))
        out(f"  {'all':24}{_line(mean)}\n\n")
    ratios = [
        one.taken / one.least for one in (efforts(small_tree(np.random.default_rng(s))) for s in range(40))
    ]
    out(
        f"40 small trees solved exactly: effort {np.mean(ratios):.3f} of the least, at most "
        f"{max(ratios):.3f}\n"
    )


def _line(f: Figures) -> str:
    shares = (f.right, f.wrong, f.left_open, f.among_two)
    return (
        "".join(f"{100 * share:8.1f}" for share in shares)
        + f"{100 * f.dead:6.1f}{f.minutes:7.0f}{f.tests:7.1f}"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)
