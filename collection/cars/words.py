"""The record of one car as panels of facts: what is known, and by name what is not."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from collection.models import Battery, Bay, Fluid, Fuel, LastEvent, LastUse, Tyre, Vehicle
from collection.web.units import Edge
from scheduler.vocabulary.machine import BUILD
from scheduler.vocabulary.units import Unit

Facts = list[tuple[str, str]]
Labels = Mapping[str, str]


@dataclass(frozen=True)
class Panel:
    """One part of the record: facts known, names of those not known, and where to write them."""

    title: str
    part: str
    facts: Facts
    unknown: list[str]


def format_date(value: date | None) -> str:
    """A date of the record; empty when not known."""
    return f"{value.day} {value:%b %Y}" if value else ""


def _panel(title: str, part: str, facts: Iterable[tuple[str, str]]) -> Panel:
    facts = list(facts)
    known = [(name, value) for name, value in facts if value]
    return Panel(title, part, known, [name for name, value in facts if not value])


def _number(value: float | None, unit: Unit) -> str:
    return "" if value is None else unit.format(value)


def as_known(vehicle: Vehicle, name: str, value: str) -> str:
    """A value of the car, and whether it is only what is usual for its kind."""
    return f"{value} (assumed from its kind)" if name in vehicle.assumed_fields else value


def _yes(known: bool, word: str) -> str:
    return word if known else ""


def _built_with(vehicle: Vehicle) -> Iterator[tuple[str, str]]:
    """What somebody knows of how it is built."""
    for part in BUILD:
        yield from _if_known(part.title, getattr(vehicle, f"get_{part.code}_display")())


def car_panel(vehicle: Vehicle, edge: Edge) -> Panel:
    """What the car is."""
    return _panel(
        "The car",
        "car",
        [
            ("Kind of body", vehicle.get_body_display()),
            ("Registration", vehicle.registration),
            ("Chassis number", vehicle.chassis_number),
            ("Engine", vehicle.engine),
            ("Fuel system", as_known(vehicle, "fuel_system", vehicle.get_fuel_system_display())),
            (
                "Electrical system",
                as_known(vehicle, "system_volts", vehicle.get_system_volts_display() or ""),
            ),
            *_built_with(vehicle),
            ("Tank", _number(vehicle.tank_litres, edge.unit("litres"))),
            ("Tank material", vehicle.get_tank_material_display()),
            ("Tank venting", as_known(vehicle, "tank_venting", vehicle.get_tank_venting_display())),
            ("In storage since", format_date(vehicle.stored_since)),
            ("Wheels", "on stands" if vehicle.on_stands else "on the ground"),
        ],
    )


def battery_panel(battery: Battery, labels: Labels) -> Panel:
    """The battery in the car."""
    isolated = "fitted and open" if battery.isolated else "none, or closed"
    return _panel(
        "Battery",
        "battery",
        [
            ("Chemistry", labels.get(battery.chemistry, battery.chemistry)),
            ("Capacity", _number(battery.capacity_ah, Unit(name="Ah"))),
            ("Voltage", battery.get_volts_display() or ""),
            ("Made", format_date(battery.made_on)),
            ("Installed", format_date(battery.installed_on)),
            ("Key-off drain", _number(battery.drain_ma, Unit(name="mA"))),
            ("Isolator", isolated if battery.pk else ""),
            *_if_known("On a maintainer since", format_date(battery.maintainer_since)),
            *_if_known("Specific gravity when full", _number(battery.full_sg, Unit(name=""))),
        ],
    )


def fuel_panel(fuel: Fuel, labels: Labels, edge: Edge) -> Panel:
    """What was in the tank when it was written down."""
    bio = "FAME" if "diesel" in fuel.grade else "Ethanol"
    return _panel(
        "Fuel",
        "fuel",
        [
            ("Grade", labels.get(fuel.grade, fuel.grade)),
            (bio, _number(fuel.bio_pct, Unit(name="%"))),
            ("In the tank", _number(fuel.litres, edge.unit("litres"))),
            ("Filled", format_date(fuel.filled_on)),
            *_if_known("Stabilised", format_date(fuel.stabilised_on)),
            *_if_known("As found on", format_date(fuel.as_of)),
        ],
    )


def fluids_panel(fluids: Iterable[Fluid], labels: Mapping[str, Labels]) -> Panel:
    """Each fluid: what kind, when last changed."""
    return _panel("Fluids", "fluids", [(f.get_kind_display(), _fluid(f, labels[f.kind])) for f in fluids])


def _fluid(fluid: Fluid, labels: Labels) -> str:
    changed = f"changed {format_date(fluid.changed_on)}" if fluid.changed_on else ""
    share = _number(fluid.glycol_pct, Unit(name="% glycol"))
    return ", ".join(part for part in (labels.get(fluid.type, fluid.type), share, changed) if part)


def tyres_panel(tyres: Iterable[Tyre], edge: Edge) -> Panel:
    """Each tyre: date code and placard pressure."""
    return _panel("Tyres", "tyres", [(tyre.get_position_display(), _tyre(tyre, edge)) for tyre in tyres])


def _tyre(tyre: Tyre, edge: Edge) -> str:
    code = f"date code {tyre.date_code}" if tyre.date_code else ""
    placard = (
        "" if tyre.placard_kpa is None else f"{edge.unit('kPa').format(tyre.placard_kpa)} on the placard"
    )
    return ", ".join(part for part in (code, placard) if part)


def last_panel(uses: Iterable[LastUse], latest: Mapping[str, date]) -> Panel:
    """The five last times, each with how it is known; the care log wins where it is later."""
    recorded = {use.event: use for use in uses if use.pk}
    facts = [(label, _last(recorded.get(event), latest.get(event))) for event, label in LastEvent.choices]
    return _panel("Last used", "last", facts)


def _last(use: LastUse | None, latest: date | None) -> str:
    if latest and (use is None or latest > use.on):
        return f"{format_date(latest)} (our own care log)"
    return f"{format_date(use.on)} ({use.get_basis_display().lower()})" if use else ""


def place_facts(bay: Bay) -> Facts:
    """Where it stands and what is at hand there."""
    at_hand = [
        *_if_known("power outlet", _yes(bay.power_outlet, "power outlet")),
        *_if_known("exhaust extraction", _yes(bay.exhaust_extraction, "exhaust extraction")),
    ]
    return [
        ("Bay", f"{bay.label}, {bay.building.name}" if bay.is_marked else str(bay)),
        ("Site", bay.building.site.name),
        ("Shelter", bay.building.get_shelter_display()),
        ("At the bay", ", ".join(word for _, word in at_hand) or "no power, no extraction"),
    ]


def _if_known(name: str, value: str) -> Facts:
    """A fact that is told only where there is one: its absence is no gap in the record."""
    return [(name, value)] if value else []
