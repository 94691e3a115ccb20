"""A search for one fault: the tests logged so far, what they leave, and the test worth doing next."""

from collections.abc import Sequence
from dataclasses import dataclass

from collection.models import CareKind, Entry
from scheduler.faults.isolation import ALL_PERMISSIONS, Diagnosis, diagnose
from scheduler.faults.model import Probe, Tree
from scheduler.faults.table import TREES
from scheduler.recommission.permissions import Permissions
from scheduler.recommission.tags import Permission


@dataclass(frozen=True)
class Tried:
    """One test as logged: the latest entry of it."""

    probe: Probe
    words: str
    entry: Entry


@dataclass(frozen=True)
class Search:
    """One symptom at one car: its tree, what was tried, and what the core makes of it."""

    tree: Tree
    tried: tuple[Tried, ...]
    diagnosis: Diagnosis
    barred: tuple[tuple[str, str], ...]  # test not allowed yet, and the permission that it needs


def search(symptom: str, entries: Sequence[Entry], allowed: Permissions | None) -> Search:
    """Where the search for a fault stands; ``entries`` oldest first. ``allowed`` None: all allowed."""
    tree = TREES[symptom]
    latest = _latest(symptom, entries)
    answers = {test: entry.details.get("outcome") for test, entry in latest.items()}
    permitted = frozenset(p for p in Permission if allowed.given(p)) if allowed else ALL_PERMISSIONS
    diagnosis = diagnose(tree, answers, permitted)
    barred = tuple((probe.do, _label(probe)) for probe in tree.probes if probe.key in diagnosis.barred)
    tried = tuple(_tried(tree.probe(test), entry) for test, entry in latest.items())
    return Search(tree, tried, diagnosis, barred)


def _label(probe: Probe) -> str:
    return probe.needs.label if probe.needs is not None else ""


def _latest(symptom: str, entries: Sequence[Entry]) -> dict[str, Entry]:
    """The latest entry of each test since the search was last begun."""
    latest: dict[str, Entry] = {}
    for entry in entries:
        if entry.kind != CareKind.FAULT_TEST or entry.details["symptom"] != symptom:
            continue
        if entry.details.get("begun"):
            latest.clear()
        else:
            latest[entry.details["test"]] = entry
    return latest


def _tried(probe: Probe, entry: Entry) -> Tried:
    outcome = entry.details.get("outcome")
    words = next((one.words for one in probe.outcomes if one.key == outcome), "")
    return Tried(probe, words or f"could not be done: {entry.details.get('could_not', '')}", entry)
