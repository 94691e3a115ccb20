"""Whether the car is called what it was called when its entries were chained."""

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from collection.chain.links import Facts
from collection.chain.replay import RECORD
from collection.chain.shape import SETTINGS
from collection.chain.verdict import Fault


def check_identity(history: Facts) -> tuple[list[Fault], list[str]]:
    """A fault for each change that no entry of the record tells; in words those that one tells.

    Before the record stood in the chain no entry could tell of it, and one that is left out does not: then
    it is said in words only, as it is of a site, whose name is no part of what is set.
    """
    faults, remarks = [], []
    record = _RecordEntries(history)
    for before, after in pairwise([*history["links"], {"seq": 0, "car": history["car"], "entry": ""}]):
        if before["car"] == after["car"]:
            continue
        where = f"at entry {after['seq']}" if after["seq"] else "since the last entry"
        changed = ", ".join(_changes(before["car"], after["car"]))
        text = f"What the record calls it changed {where}: {changed}."
        if history["form"] == SETTINGS or record.is_known(before["car"], after):
            remarks.append(text)
        else:
            faults.append(Fault("identity", after["seq"], text))
    return faults, remarks


class _RecordEntries:
    """What the entries of the record tell of names and numbers."""

    def __init__(self, history: Facts) -> None:
        self.entries = {entry["id"]: entry for entry in history["entries"]}
        self.withheld = history.get("withheld", {})
        self.opened = next((link["seq"] for link in history["links"] if self._kind(link) == RECORD), None)

    def _kind(self, link: Facts) -> str:
        entry = self.entries.get(link["entry"])
        return str(entry["kind"] if entry else self.withheld.get(link["entry"], ""))

    def is_known(self, was: Facts, after: Facts) -> bool:
        """Whether the entry at a link tells that the car is called so since, or could not have told."""
        if after["seq"] and (self.opened is None or after["seq"] <= self.opened):
            return True
        if self._kind(after) != RECORD:
            return False
        entry, fields = self.entries.get(after["entry"]), after.get("fields", {})
        return entry is None or all(
            fields.get(f"details.{name}", {}).get("salt", "") is None
            or _now(entry["details"].get(name)) == _plain(after["car"][name])
            for name in was
            if was[name] != after["car"][name]
        )


def _now(fact: Any) -> Any:
    return _plain(fact.get("now")) if isinstance(fact, dict) else ""


def _plain(value: Any) -> Any:
    return "" if value is None else value


def _changes(before: Facts, after: Facts) -> Iterator[str]:
    for name in before:
        if before[name] != after[name]:
            values: list[Any] = [
                value if value not in ("", None) else "nothing" for value in (before[name], after[name])
            ]
            yield f"{name.replace('_', ' ')} from {values[0]} to {values[1]}"
