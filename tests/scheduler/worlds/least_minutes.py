"""The least effort that any order of tests can reach on a small tree, solved exactly, beside what the
search takes.

Every state of a small tree (each test undone, or done with one of its results) is written down; the ends
are the search's own. Least effort is solved from the fullest states back to the empty one.
"""

from dataclasses import dataclass
from itertools import product

import numpy as np

from scheduler.faults.model import Cause, Outcome, Probe, Tree
from scheduler.faults.search import SEARCHING, begin, next_step
from scheduler.recommission.stages.acts import Act
from scheduler.vocabulary.cited import policy


@dataclass(frozen=True)
class Effort:
    """Mean effort in minutes, from an empty search to its end."""

    taken: float
    least: float


def small_tree(random: np.random.Generator, causes: int = 3, tests: int = 3) -> Tree:
    """A tree of a few causes, something else, a few tests of two results, and the confirming tests."""
    names = [f"c{i}" for i in range(causes)]
    priors = random.dirichlet(np.full(causes, 3.0)) * 0.94
    rows = [Cause(name, name, float(prior)) for name, prior in zip(names, priors, strict=True)]
    probes = [_test(i, names, random) for i in range(tests)]
    for name in names:
        outcomes = (Outcome("yes", "yes", f"{name} .95 * .03"), Outcome("no", "no"))
        act = frozenset({random.choice([Act.LOOK, Act.SPARK])})
        probes.append(
            Probe(f"confirm_{name}", name, float(random.choice([15, 20, 30])), outcomes, act, confirms=name)
        )
    return Tree("small", "Small", (*rows, Cause("other", "other", 0.06)), tuple(probes), policy("drawn"))


def _test(place: int, names: list[str], random: np.random.Generator) -> Probe:
    shown = random.choice(names, size=int(random.integers(1, len(names))), replace=False)
    chances = " ".join(f"{name} {random.uniform(0.7, 0.95):.2f}" for name in shown)
    outcomes = (Outcome("yes", "yes", f"{chances} * .05"), Outcome("no", "no"))
    act = frozenset({random.choice([Act.LOOK, Act.HAND, Act.SPARK])})
    return Probe(f"t{place}", f"t{place}", float(random.choice([3, 8, 10, 15, 25])), outcomes, act)


def efforts(tree: Tree) -> Effort:
    """What the search takes, and the least that any order takes."""
    count = len(tree.probes)
    states = np.array(list(product((-1, 0, 1), repeat=count)))
    board = begin(tree, len(states))
    board.most_readings = 1
    for test in range(count):
        rows = np.flatnonzero(states[:, test] >= 0)
        board.record(rows, np.full(len(rows), test), states[rows, test])
    step = next_step(board)
    place = 3 ** np.arange(count)[::-1]
    number = (states + 1) @ place
    assert np.array_equal(number, np.arange(len(states)))
    effort = np.array([probe.effort_minutes for probe in tree.probes])
    least, taken = np.zeros(len(states)), np.zeros(len(states))
    for state in np.argsort(-(states >= 0).sum(axis=1), kind="stable"):
        if step.state[state] != SEARCHING:
            continue
        cost = {}
        for test in np.flatnonzero(states[state] < 0):
            chance = tree.table[test] @ step.chances[state]
            after = state + place[test] * np.array([1, 2])
            cost[test] = (effort[test] + chance @ least[after], effort[test] + chance @ taken[after])
        least[state] = min(pair[0] for pair in cost.values())
        taken[state] = cost[step.test[state]][1]
    return Effort(float(taken[0]), float(least[0]))
