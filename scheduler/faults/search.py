"""Many searches at once: what results make of the causes, which test next, where a search ends.

Equations: chances follow Bayes' rule, log P(cause | results) = log prior + sum of log P(result | cause). A
test done again meets the same car, often with the same eyes: P(again | before, cause) = s [again = before]
+ (1 - s) P(again | cause), so that the same result twice adds little and another one counts in full. A
test's worth is the entropy it is expected to remove, in bits, for its minutes and the detour its acts are
worth,

    worth = (H(now) - sum over outcomes of P(outcome) H(after)) (1 - could not) / effort.

Rules (policy): the leader is confirmed by its own test from an even chance. *Found*: by that test and 99.3 %.
A result that the leader hardly ever shows contradicts it and is taken again first. Where nothing useful is
left, the search is open, and says so. Arrays: n searches of one tree with T tests, O outcomes, C causes.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scheduler.faults.model import OTHER, Floats, Ints, Tree

Bools = npt.NDArray[np.bool_]

CONFIRM_FROM = 0.50  # chance of the leader from which its own confirming test comes next
FOUND_FROM = 0.993  # chance of a confirmed cause from which it is found
NOT_LISTED_FROM = 0.96  # chance of "something else" from which the list is left
CONTRADICTS_BELOW = 0.10  # P(result | leader) below which the result contradicts the leader
USEFUL_BITS = 0.005  # less is not worth anybody's time
SAME_EYES = 0.3  # share of readings that only see the one before again (judgement)
MOST_READINGS = 3
DIGITS = 12  # kept of chances and worths: equals stay equal, here and on a phone
ONCE_MORE = 1e-9  # worth of repeating what contradicts, however little it would tell
NO_TEST = -1
SEARCHING, FOUND, NOT_LISTED, OPEN = range(4)


@dataclass
class Board:
    """n searches of one tree.

    ``weight``: log prior plus log-likelihoods, (n, C). ``given``: what each test added to it, (n, T, C).
    ``readings``: results of each test, (n, T); ``last``: the latest, -1 for none. ``failed``: could not be
    done.
    ``allowed``: tests that the permissions held allow, (n, T). ``most_readings``: how often a test is done
    at most.
    """

    tree: Tree
    weight: Floats
    given: Floats
    readings: Ints
    last: Ints
    failed: Bools
    allowed: Bools
    most_readings: int = MOST_READINGS

    def chances(self) -> Floats:
        """P(cause | results), shape (n, C)."""
        return _normal(self.weight)

    def take(self, rows: Ints) -> "Board":
        """A copy of some of the searches; ``rows`` (k,)."""
        given, readings, last = self.given[rows], self.readings[rows], self.last[rows]
        failed, allowed = self.failed[rows], self.allowed[rows]
        return Board(self.tree, self.weight[rows], given, readings, last, failed, allowed, self.most_readings)

    def record(self, rows: Ints, tests: Ints, outcomes: Ints) -> None:
        """A result into each of ``rows`` (k,); outcome -1 is "could not be done" and tells nothing."""
        done = outcomes >= 0
        self.failed[rows[~done], tests[~done]] = True
        rows, tests, outcomes = rows[done], tests[done], outcomes[done]
        again, same = self.readings[rows, tests] > 0, self.last[rows, tests] == outcomes
        likely = self.tree.table[tests, outcomes]
        second = SAME_EYES * same[:, None] + (1 - SAME_EYES) * likely
        added = np.log(np.where(again[:, None], second, likely))
        self.weight[rows] += added
        self.given[rows, tests] += added
        self.readings[rows, tests] += 1
        self.last[rows, tests] = outcomes
        self.failed[rows, tests] = False


@dataclass(frozen=True)
class Step:
    """Where n searches stand: ``state`` and the ``test`` to do next (-1 at an end), each (n,); ``worth``
    (n, T).

    ``contradicts``: results that the leader hardly ever shows, (n, T).
    """

    state: Ints
    test: Ints
    worth: Floats
    contradicts: Bools
    chances: Floats


def begin(tree: Tree, count: int, allowed: Bools | None = None) -> Board:
    """``count`` searches without a result; ``allowed`` of shape (T,) or (count, T), all by default."""
    tests, causes = len(tree.probes), len(tree.causes)
    may = (
        np.ones((count, tests), bool) if allowed is None else np.broadcast_to(allowed, (count, tests)).copy()
    )
    return Board(
        tree,
        np.tile(np.log(tree.prior), (count, 1)),
        np.zeros((count, tests, causes)),
        np.zeros((count, tests), np.int64),
        np.full((count, tests), NO_TEST),
        np.zeros((count, tests), bool),
        may,
    )


def next_step(board: Board) -> Step:
    """What each search should do next, or how it ends.

    >>> from scheduler.faults.table import TREES
    >>> tree = TREES["cranks-not"]
    >>> tree.probes[int(next_step(begin(tree, 1)).test[0])].key
    'rest_volts'
    """
    chances = board.chances()
    contradicts = _contradicts(board, chances)
    fresh, again = _worth(board, chances)
    repeat = np.where(
        contradicts & _may_repeat(board), np.maximum(again, ONCE_MORE * (board.readings == 1)), 0.0
    )
    confirm = _confirm_leader(board, chances)
    state = _ends(board, chances, repeat)
    test = np.full(len(chances), NO_TEST)
    for one in (again, fresh, confirm, repeat):  # the later takes its place before the earlier
        best = one.argmax(axis=1)
        test = np.where(one[np.arange(len(one)), best] > 0, best, test)
    state = np.where((state == SEARCHING) & (test == NO_TEST), OPEN, state)
    return Step(state, np.where(state == SEARCHING, test, NO_TEST), fresh + repeat, contradicts, chances)


def named_when_open(tree: Tree, chances: Floats) -> Bools:
    """What an open end names, (n, C), by the ``chances`` (n, C) of the causes.

    The two likeliest of the list; and always something else, since no cause of the list could be confirmed.
    """
    other = np.array([cause.key == OTHER for cause in tree.causes])
    listed = np.where(other, -1.0, chances)
    second = np.sort(listed, axis=1)[:, -2:-1]
    return np.asarray(other | (listed >= second))


def bits(table: Floats, chances: Floats) -> Floats:
    """Bits that each test is expected to remove, (n, T); ``table`` (T, O, C), ``chances`` (n, C)."""
    joint = table * chances[:, None, None, :]
    each = joint.sum(axis=3, keepdims=True)
    after = entropy_bits(joint / np.where(each > 0, each, 1.0))
    return np.asarray(entropy_bits(chances)[:, None] - (each[..., 0] * after).sum(axis=2))


def entropy_bits(chances: Floats) -> Floats:
    """Entropy in bits over the last axis."""
    logs = np.log2(chances, out=np.zeros_like(chances), where=chances > 0)
    return np.asarray(-(chances * logs).sum(axis=-1))


def _normal(weight: Floats) -> Floats:
    chances = np.exp(weight - weight.max(axis=1, keepdims=True))
    return np.asarray(np.round(chances / chances.sum(axis=1, keepdims=True), DIGITS))


def _worth(board: Board, chances: Floats) -> tuple[Floats, Floats]:
    """Worth per minute of each test not yet done, and of each once more; 0 where it may not or is useless."""
    may = board.allowed & ~board.failed
    probes = board.tree.probes
    could = 1.0 - np.array([probe.could_not for probe in probes])
    effort = np.array([probe.effort_minutes for probe in probes])
    once = bits(board.tree.table, chances) * could
    outcomes = np.arange(board.tree.table.shape[1])
    seen = (board.last[:, :, None] == outcomes)[..., None]
    twice = bits(SAME_EYES * seen + (1 - SAME_EYES) * board.tree.table, chances)
    fresh = np.where(may & (board.readings == 0) & (once >= USEFUL_BITS), once / effort, 0.0)
    again = np.where(_may_repeat(board) & (twice >= USEFUL_BITS), twice / effort, 0.0)
    return np.asarray(np.round(fresh, DIGITS), float), np.asarray(np.round(again, DIGITS), float)


def _may_repeat(board: Board) -> Bools:
    return board.allowed & ~board.failed & (board.readings > 0) & (board.readings < board.most_readings)


def _contradicts(board: Board, chances: Floats) -> Bools:
    """Results that the leader, where one leads clearly, would hardly ever have shown."""
    leader = chances.argmax(axis=1)
    clear = chances.max(axis=1) >= CONFIRM_FROM
    shown = board.tree.table[np.arange(len(board.tree.probes))[None], board.last.clip(0), leader[:, None]]
    return np.asarray(clear[:, None] & (board.last >= 0) & (shown < CONTRADICTS_BELOW))


def _confirm_leader(board: Board, chances: Floats) -> Floats:
    """1 at the confirming test of a cause that leads clearly and has not been confirmed yet."""
    leads = chances.max(axis=1) >= CONFIRM_FROM
    own = board.tree.confirms[None] == chances.argmax(axis=1)[:, None]
    may = board.allowed & ~board.failed & (board.readings == 0)
    return np.asarray(leads[:, None] & own & may, float)


def _ends(board: Board, chances: Floats, repeat: Floats) -> Ints:
    leader, best = chances.argmax(axis=1), chances.max(axis=1)
    own = board.tree.confirms[None] == leader[:, None]
    confirmed = (own & (board.last == 0)).any(axis=1)  # the first outcome of a confirming test is yes
    settled = ~(repeat > 0).any(axis=1)
    other = np.array([cause.key == OTHER for cause in board.tree.causes])[leader]
    proven = confirmed & (best >= FOUND_FROM) & settled
    unlisted = other & (best >= NOT_LISTED_FROM) & settled
    return np.where(proven, FOUND, np.where(unlisted, NOT_LISTED, SEARCHING))
