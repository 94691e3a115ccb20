"""What to bring on the round, counted from its tasks."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from collection.models import Site
from collection.round.queries.weeks import Stop
from scheduler.vocabulary.duties import DUTY
from scheduler.vocabulary.kit import KIT, Kit


@dataclass(frozen=True)
class Item:
    """One thing to bring; ``count`` None is brought once for all."""

    name: str
    count: int | None = None
    remark: str = ""


def kit(stops: Iterable[Stop], site: Site) -> list[Item]:
    """Counted things first, then those brought once; optional tasks do not count, nor what nobody owns."""
    owned = dict(site.equipment.values_list("kind", "count"))
    work = [(stop, task.line.duty) for stop in stops for task in stop.tasks if not task.optional]
    needed = ((row, [pair for pair in work if row.code in DUTY[pair[1]].kit]) for row in KIT)
    return [_owned(_item(row, pairs), owned.get(row.code)) for row, pairs in needed if pairs]


def _owned(item: Item, owned: int | None) -> Item:
    """No more of it than the site has: then the cars take turns."""
    if not owned or item.count is None or item.count <= owned:
        return item
    turns = f"for {item.count} cars, in turns"
    return Item(item.name, owned, f"{turns}; {item.remark}" if item.remark else turns)


def _item(row: Kit, work: Sequence[tuple[Stop, str]]) -> Item:
    if row.one_a_car:
        return Item(row.title, len({stop.vehicle.pk for stop, _ in work}))
    if not row.each:
        return Item(row.title)
    remark = _doses(row.dose, work) if row.dose else ""
    return Item(row.title, len(work), _leads(work) if row.needs_outlet else remark)


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
