"""What to bring on the round, counted from its tasks."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from collection.round.queries.weeks import Stop
from scheduler.vocabulary.duties import DUTY
from scheduler.vocabulary.kit import KIT, Kit


@dataclass(frozen=True)
class Item:
    """One thing to bring; ``count`` None is brought once for all."""

    name: str
    count: int | None = None
    remark: str = ""


def kit(stops: Iterable[Stop], owned: Mapping[str, int]) -> list[Item]:
    """Counted things first, then those brought once; optional tasks do not count.

    ``owned``: how many of each equipment the site has; more of it cannot be brought.
    """
    work = [(stop, task.line.duty) for stop in stops for task in stop.tasks if not task.optional]
    needed = ((row, [pair for pair in work if row.code in DUTY[pair[1]].kit]) for row in KIT)
    return [_item(row, pairs, owned.get(row.code)) for row, pairs in needed if pairs]


def _item(row: Kit, work: Sequence[tuple[Stop, str]], owned: int | None) -> Item:
    if row.one_a_car:
        return Item(row.title, len({stop.vehicle.pk for stop, _ in work}))
    if not row.each:
        return Item(row.title)
    remark = _doses(row.dose, work) if row.dose else ""
    remarks = [_leads(work) if row.needs_outlet else remark]
    if owned is not None and owned < len(work):
        remarks.insert(0, f"for {len(work)} cars: in turns" if owned else f"{len(work)} needed, none owned")
    count = len(work) if owned is None else min(owned, len(work))
    return Item(row.title, count, "; ".join(filter(None, remarks)))


def _leads(work: Sequence[tuple[Stop, str]]) -> str:
    """At how many of the bays there is no outlet."""
    far = sum(1 for stop, _ in work if not (stop.vehicle.bay and stop.vehicle.bay.power_outlet))
    return f"{far} without a power outlet at the bay: extension lead" if far else ""


def _doses(key: str, work: Sequence[tuple[Stop, str]]) -> str:
    """The doses known from last time, and how many are not."""
    entries = [stop.last.entries.get(DUTY[duty].answered_by[0].care) for stop, duty in work]
    doses = [entry.details[key] for entry in entries if entry and entry.details.get(key)]
    unknown = len(work) - len(doses)
    remark = f"{sum(doses):.0f} ml for {len(doses)} by the last dose" if doses else ""
    if unknown:
        remark += ("; " if remark else "") + f"{unknown} by the label, for the litres in the tank"
    return remark
