"""A search for one fault: the tests logged so far, what they make of the causes, and the test next."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from collection.models import CareKind, Entry
from collection.recommission.core.plan import Recommissioning
from scheduler.faults.diagnosis import Diagnosis, diagnose
from scheduler.faults.model import Tree, for_volts
from scheduler.faults.portable import portable, rules
from scheduler.faults.table import TREES
from scheduler.recommission.stages.acts import ALL_ACTS, Act
from scheduler.recommission.stages.machine import Machine


@dataclass(frozen=True)
class Tried:
    """One test as logged. ``asked``: it is still asked; a result of a test that is not counts for nothing."""

    test: str
    do: str
    words: str
    entry: Entry
    asked: bool
    contradicts: bool


@dataclass(frozen=True)
class Search:
    """One symptom at one car: its tree, what was tried, and what the core makes of it."""

    tree: Tree
    tried: tuple[Tried, ...]
    diagnosis: Diagnosis
    barred: tuple[tuple[str, tuple[str, ...]], ...]  # a useful test not allowed yet, and why not
    again: tuple[str, ...]  # tests whose results contradict the leader and have not been taken again enough
    unlikely: tuple[tuple[str, tuple[str, ...]], ...]  # a cause, and the tests that speak against it


def search(
    symptom: str,
    entries: Sequence[Entry],
    *,
    reasons: Mapping[Act, tuple[str, ...]] | None = None,
    volts: int | None = None,
) -> Search:
    """Where the search for a fault stands; ``entries`` oldest first.

    ``reasons``: what stands in the way of each act, empty where it is allowed; None allows all.
    """
    tree, held = TREES[symptom], reasons or {}
    allowed = frozenset(act for act in ALL_ACTS if not held.get(act))
    since = _since_begun(symptom, entries)
    asked = [entry for entry in since if entry.details["test"] in tree.place]
    readings = [(entry.details["test"], entry.details.get("outcome")) for entry in asked]
    diagnosis = diagnose(tree, readings, allowed, volts)
    barred = tuple((one.do, _why_not(one.acts, held)) for one in diagnosis.barred)
    tried = tuple(_tried(tree, entry, diagnosis, volts) for entry in since)
    again = tuple(one.do for one in diagnosis.proposals if one.repeat and one.test in diagnosis.contradicts)
    unlikely = tuple(
        (one.label, tuple(_do(tree, test, volts) for test in one.by)) for one in diagnosis.unlikely
    )
    return Search(tree, tried, diagnosis, barred, again, unlikely)


def search_on_phone(
    trees: Sequence[Tree],
    entries: Sequence[Entry],
    *,
    reasons: Mapping[Act, tuple[str, ...]] | None = None,
    volts: int | None = None,
) -> dict[str, Any]:
    """What a phone needs to search without a signal: trees, rules, what was tried, what stands in the way."""
    held = reasons or {}
    return {
        "rules": rules(),
        "trees": [portable(tree, volts) for tree in trees],
        "tried": {
            tree.symptom: [
                [entry.details["test"], entry.details.get("outcome")]
                for entry in _since_begun(tree.symptom, entries)
                if entry.details["test"] in tree.place
            ]
            for tree in trees
        },
        "held": {act.value: list(held.get(act, ())) for act in Act},
    }


def trees_for(recommissioning: Recommissioning | None, begun: Collection[str]) -> list[Tree]:
    """The trees that fit the machine, as far as it is known, and those already begun."""
    machine = recommissioning.plan.machine if recommissioning else Machine()
    return [t for t in TREES.values() if t.symptom in begun or machine.has(t.machine) is not False]


def _do(tree: Tree, test: str, volts: int | None) -> str:
    return for_volts(tree.probe(test).do, volts)


def _why_not(acts: Sequence[Act], held: Mapping[Act, tuple[str, ...]]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(reason for act in acts for reason in held.get(act, ())))


def _since_begun(symptom: str, entries: Sequence[Entry]) -> list[Entry]:
    """The tests since the search was last begun, in their order."""
    since: list[Entry] = []
    for entry in entries:
        if entry.kind != CareKind.FAULT_TEST or entry.details["symptom"] != symptom:
            continue
        if entry.details.get("begun"):
            since.clear()
        else:
            since.append(entry)
    return since


def _tried(tree: Tree, entry: Entry, diagnosis: Diagnosis, volts: int | None) -> Tried:
    test = entry.details["test"]
    do, words = tree.words_of(test, entry.details.get("outcome") or "")
    result = words or f"could not be done: {entry.details.get('could_not', '')}"
    return Tried(
        test,
        for_volts(do, volts),
        for_volts(result, volts),
        entry,
        test in tree.place,
        test in diagnosis.contradicts,
    )
