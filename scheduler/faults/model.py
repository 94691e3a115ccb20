"""A symptom, its possible causes, and the tests whose results speak for or against them.

Chances are written beside each outcome: ``flat .95 bad .45 * .04`` is P(this outcome | cause), ``*`` every
cause that is not named there; the last outcome takes what is left. Misreadings are inside, so nothing is 0
or 1: a cause that is named elsewhere in the test leaves ``*`` at most what lacks to 0.98. Each named cause
has a confirming test of its own, and *something else* is a cause without one. The trees stand as data in
``trees/``.
"""

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from scheduler.recommission.stages import cautions as say
from scheduler.recommission.stages.acts import Act
from scheduler.vocabulary.cited import Cited, policy, practice
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

OTHER = "other"
STAR = "*"
NAMED_AT_MOST = 0.98  # what the named outcomes of one cause may add up to, misreadings among them
CONFIRM = "confirm_"
CONFIRMED, DENIED = "yes", "no"
# A confirming test: it holds for the true cause, it seems to hold for another (judgement).
CONFIRM_TRUE, CONFIRM_FALSE, CONFIRM_COULD_NOT = 0.95, 0.03, 0.05
# Minutes of detour that an act is worth (policy), and work with petrol that is let out.
RISK_MINUTES = {Act.LOOK: 0.0, Act.HAND: 5.0, Act.POWER: 5.0, Act.SPARK: 15.0, Act.CRANK: 15.0, Act.RUN: 15.0}
DRAINING_MINUTES = 25.0
CAUTIONS = {
    "petrol": say.PETROL,
    "draining": say.DRAINING,
    "no_air": say.NO_AIR,
    "raised": say.RAISED,
    "linings": say.LININGS,
    "coolant": say.COOLANT,
    "co": say.CO,
    "turning": say.TURNING,
    "hands": say.HANDS_CLEAR,
    "hydrogen": say.HYDROGEN,
    "runaway": say.RUNAWAY_VOLTS,
    "diesel": say.DIESEL,
    "jet": say.JET,
}
STANDINGS = {"common practice": practice, "policy": policy}
TREES_FOLDER = Path(__file__).parent / "trees"


@dataclass(frozen=True, slots=True)
class Cause:
    """One possible cause: its chance before any test, and what mends it."""

    key: str
    label: str
    prior: float
    remedy: str = ""


@dataclass(frozen=True, slots=True)
class Outcome:
    """One way a test can come out; ``chances`` as in the module's head, "" takes the rest."""

    key: str
    words: str
    chances: str = ""


@dataclass(frozen=True, slots=True)
class Probe:
    """One test: what to do, how it can come out, its acts, minutes, cautions, and how often it cannot be
    done.

    ``confirms``: the cause whose confirming test this is.
    """

    key: str
    do: str
    minutes: float
    outcomes: tuple[Outcome, ...]
    acts: frozenset[Act] = frozenset({Act.LOOK})
    could_not: float = 0.0
    caution: str = ""
    draining: bool = False
    confirms: str = ""

    @property
    def effort_minutes(self) -> float:
        """Minutes, and the detour that its acts are worth."""
        risk = max(RISK_MINUTES[act] for act in self.acts)
        return self.minutes + risk + (DRAINING_MINUTES if self.draining else 0.0)


@dataclass(frozen=True, slots=True)
class Retired:
    """A test that is no longer asked: old results of it are read, and count for nothing."""

    key: str
    do: str
    outcomes: Mapping[str, str]


@dataclass(frozen=True)
class Tree:
    """One symptom with its causes and tests. ``machine``: the kind of machine that it is for, "" any."""

    symptom: str
    label: str
    causes: tuple[Cause, ...]
    probes: tuple[Probe, ...]
    source: Cited
    caution: str = ""
    call: str = ""
    machine: str = ""
    retired: tuple[Retired, ...] = ()

    @cached_property
    def prior(self) -> Floats:
        """Chance of each cause before any test, shape (causes,)."""
        prior = np.array([cause.prior for cause in self.causes])
        return np.asarray(prior / prior.sum())

    @cached_property
    def table(self) -> Floats:
        """P(outcome | cause), shape (tests, outcomes, causes); outcomes that a test lacks are 0."""
        keys = [cause.key for cause in self.causes]
        table = np.zeros((len(self.probes), max(len(p.outcomes) for p in self.probes), len(keys)))
        for row, probe in zip(table, self.probes, strict=True):
            row[: len(probe.outcomes)] = outcome_table(probe.key, probe.outcomes, keys)
        return table

    @cached_property
    def confirms(self) -> Ints:
        """The cause that each test confirms, -1 for none, shape (tests,)."""
        keys = [cause.key for cause in self.causes]
        return np.array([keys.index(p.confirms) if p.confirms else -1 for p in self.probes])

    @cached_property
    def place(self) -> dict[str, int]:
        """Where each test stands."""
        return {probe.key: i for i, probe in enumerate(self.probes)}

    def probe(self, key: str) -> Probe:
        """The test called ``key``; BadInput lists the choices."""
        if key not in self.place:
            raise BadInput("test", f"{key!r} is none of {', '.join(self.place)}")
        return self.probes[self.place[key]]

    def words_of(self, test: str, outcome: str) -> tuple[str, str]:
        """What a logged test did and how it came out in words, of retired tests too; "" where unknown."""
        do = {row.key: row.do for row in self.retired} | {row.key: row.do for row in self.probes}
        return do[test], self.outcomes_of(test).get(outcome, "")

    def outcomes_of(self, test: str) -> dict[str, str]:
        """How a test can come out, of retired ones too: key and words."""
        old = {row.key: dict(row.outcomes) for row in self.retired}
        asked = {row.key: {one.key: one.words for one in row.outcomes} for row in self.probes}
        return (old | asked)[test]

    def knows(self, test: str) -> bool:
        """Whether it asks for this test, or once did."""
        return test in self.place or any(old.key == test for old in self.retired)


def outcome_table(key: str, outcomes: Sequence[Outcome], causes: Sequence[str]) -> Floats:
    """P(outcome | cause) of one test, shape (outcomes, causes); BadInput where the row cannot be."""
    parsed = [_chances(outcome, causes) for outcome in outcomes]
    table = np.array([[named.get(cause, 0.0) for cause in causes] for named, _ in parsed])
    room = NAMED_AT_MOST - table.sum(axis=0)
    stars = np.array([[0.0 if cause in named else star for cause in causes] for named, star in parsed])
    together = stars.sum(axis=0)
    table += stars * np.minimum(1.0, room / np.where(together > 0, together, 1.0))
    if outcomes[-1].chances or np.any(room < 0):
        raise BadInput(
            "outcomes", f"{key}: chances exceed {NAMED_AT_MOST}, or the last outcome takes no rest"
        )
    table[-1] = 1.0 - table.sum(axis=0)
    return np.asarray(np.round(table, 12))  # 0.1 is 0.1, whatever it was left from


def _chances(outcome: Outcome, causes: Sequence[str]) -> tuple[dict[str, float], float]:
    words = outcome.chances.split()
    named = {name: float(chance) for name, chance in zip(words[::2], words[1::2], strict=True)}
    star = named.pop(STAR, 0.0)
    if strange := sorted(set(named) - set(causes)):
        raise BadInput("outcomes", f"{outcome.key}: no cause is called {', '.join(strange)}")
    return named, star


def for_volts(text: str, volts: int | None) -> str:
    """A text with values written ``{6 V|12 V|24 V}``, for one system; all three where nobody knows it.

    >>> for_volts("below {6.2|12.4|24.8} V", 6)
    'below 6.2 V'
    """
    place = {6: 0, 12: 1, 24: 2}.get(volts or 0)

    def put(match: re.Match[str]) -> str:
        values = match[1].split("|")
        return values[place] if place is not None else f"{values[0]}, {values[1]} or {values[2]}"

    return re.sub(r"\{([^}]*)\}", put, text)


def read_tree(text: str) -> Tree:
    """A tree from the text of its table."""
    table = tomllib.loads(text)
    causes = tuple(
        Cause(row["key"], row["label"], row["prior"], row.get("remedy", "")) for row in table["causes"]
    )
    probes = [_probe(row) for row in table["tests"]]
    probes += [_confirming(row) for row in table["causes"] if row["key"] != OTHER]
    general = (table.get("caution", ""), *(CAUTIONS[name] for name in table.get("cautions", "").split()))
    return Tree(
        table["symptom"],
        table["label"],
        causes,
        tuple(probes),
        STANDINGS[table["standing"]](table["source"]),
        " ".join(part for part in general if part),
        table["call"],
        table.get("machine", ""),
        tuple(Retired(row["key"], row["do"], dict(row["outcomes"])) for row in table.get("retired", ())),
    )


def _probe(row: Mapping[str, Any]) -> Probe:
    acts = frozenset(Act(act) for act in row.get("act", "look").split())
    names = row.get("cautions", "").split()
    outcomes = tuple(Outcome(*outcome) for outcome in row["outcomes"])
    return Probe(
        row["key"],
        row["do"],
        row["minutes"],
        outcomes,
        acts,
        row["could_not"],
        _caution(acts, names),
        "draining" in names,
    )


def _confirming(row: Mapping[str, Any]) -> Probe:
    acts = frozenset(Act(act) for act in row.get("act", "look").split())
    names = row.get("cautions", "").split()
    outcomes = (
        Outcome(CONFIRMED, "yes", f"{row['key']} {CONFIRM_TRUE} * {CONFIRM_FALSE}"),
        Outcome(DENIED, "no"),
    )
    return Probe(
        CONFIRM + row["key"],
        row["confirm"],
        row["minutes"],
        outcomes,
        acts,
        CONFIRM_COULD_NOT,
        _caution(acts, names),
        "draining" in names,
        row["key"],
    )


def _caution(acts: frozenset[Act], names: Sequence[str]) -> str:
    """What its acts and its own hazards ask, each said once."""
    own = [CAUTIONS[name] for name in names]
    of_acts = [act.caution for act in Act if act in acts]
    added = [text for text in own if not any(text in act for act in of_acts)]
    return " ".join([*(text for text in of_acts if text), *added])
