"""What to bring on the round, counted from its tasks."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from collection.models import CareKind
from collection.queries.duties import DUTY_TITLES
from collection.queries.weeks import Stop

# per duty: what is needed for each car, and what is brought once; trade custom
EACH = {
    "charge": ("charger",),
    "run_up": ("key",),
    "engine_oil": ("filling of engine oil, with filter",),
    "coolant": ("filling of coolant",),
    "brake_fluid": ("bottle of brake fluid, unopened",),
    "gearbox_oil": ("filling of gearbox oil",),
    "axle_oil": ("filling of axle oil",),
    "tyre_move": ("key",),
}
ONCE = {
    "charge": ("voltmeter", "eye protection and gloves"),
    "run_up": ("extraction hose for the tailpipe", "wheel chocks"),
    "stabiliser": ("eye protection and gloves",),
    "fuel_change": ("fuel retriever and marked cans", "fire extinguisher", "eye protection and gloves"),
    "engine_oil": ("drain tray and marked can",),
    "coolant": ("drain tray and marked can",),
    "brake_fluid": ("bleeding kit", "eye protection and gloves"),
    "gearbox_oil": ("drain tray and marked can",),
    "axle_oil": ("drain tray and marked can",),
    "tyre_pressure": ("pressure gauge and inflator",),
    "tyre_move": ("wheel chocks",),
    "inspection": ("torch",),
}


@dataclass(frozen=True)
class Item:
    """One thing to bring; ``count`` None is brought once for all."""

    name: str
    count: int | None = None
    remark: str = ""


def kit(stops: Iterable[Stop]) -> list[Item]:
    """Counted things first, then those brought once; optional tasks do not count."""
    stops = list(stops)
    work = [(stop, task.line.duty) for stop in stops for task in stop.tasks if not task.optional]
    keys = {stop.vehicle.pk for stop, duty in work if "key" in EACH.get(duty, ())}
    work.sort(key=lambda pair: list(DUTY_TITLES).index(pair[1]))
    counted = Counter(name for _, duty in work for name in EACH.get(duty, ()) if name != "key")
    once = dict.fromkeys(name for _, duty in work for name in ONCE.get(duty, ()))
    each = [Item(name, count, _leads(stops) if name == "charger" else "") for name, count in counted.items()]
    if keys:
        each.append(Item("car key", len(keys)))
    dosed = [stop for stop, duty in work if duty == "stabiliser"]
    return [*each, *([_stabiliser(dosed)] if dosed else []), *(Item(name) for name in once)]


def _leads(stops: Iterable[Stop]) -> str:
    """How many of the bays to charge in have no outlet."""
    far = sum(
        1
        for stop in stops
        for task in stop.tasks
        if task.line.duty == "charge"
        and not task.optional
        and not (stop.vehicle.bay and stop.vehicle.bay.power_outlet)
    )
    return f"{far} without a power outlet at the bay: extension lead" if far else ""


def _stabiliser(stops: list[Stop]) -> Item:
    """The doses known from last time, and how many are not."""
    entries = [stop.last.entries.get(CareKind.STABILISER) for stop in stops]
    doses = [entry.details["dose_ml"] for entry in entries if entry and entry.details.get("dose_ml")]
    unknown = len(stops) - len(doses)
    remark = f"{sum(doses):.0f} ml for {len(doses)} by the last dose" if doses else ""
    if unknown:
        remark += ("; " if remark else "") + f"{unknown} by the label, for the litres in the tank"
    return Item("dose of stabiliser", len(stops), remark)
