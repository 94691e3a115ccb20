"""Cars and care log entries as tables, by the same columns from which tables are brought in."""

from collections.abc import Iterator
from typing import Any

from django.db.models import Prefetch, QuerySet

from collection.models import Battery, DutyRow, Entry, Fuel, Organisation, Reading, Vehicle
from collection.spreadsheets.queries import numbered_names
from collection.spreadsheets.sheets import car_fields, log_fields
from collection.spreadsheets.sheets.author import split_author
from collection.spreadsheets.sheets.cells import Row
from collection.spreadsheets.sheets.fields import Field
from collection.spreadsheets.sheets.whole_readings import is_flat, readings_in_full
from collection.spreadsheets.sheets.wording import CellFormat
from collection.spreadsheets.sheets.writing import Table

AT_ONCE = 500  # rows in memory
Facts = dict[str, Any]
CAR_COLUMNS = tuple(it for it in car_fields.CARS.fields if it.key not in car_fields.NEVER_WRITTEN)
LOG_COLUMNS = tuple(it for it in log_fields.LOG.fields if it.key not in log_fields.NEVER_WRITTEN)


def headings(columns: tuple[Field, ...], cell_format: CellFormat) -> list[str]:
    """The columns' names with their units."""
    return [cell_format.heading(field) for field in columns]


def _cells(columns: tuple[Field, ...], cell_format: CellFormat, facts: Facts) -> Row:
    return [cell_format.cell(field, facts.get(field.key)) for field in columns]


def cars_table(cars: QuerySet[Vehicle], cell_format: CellFormat) -> Table:
    """Each car with its whole record, a row to a car."""
    return Table("Cars", headings(CAR_COLUMNS, cell_format), _car_rows(cars, cell_format))


def _car_rows(cars: QuerySet[Vehicle], cell_format: CellFormat) -> Iterator[Row]:
    in_it = Prefetch("batteries", Battery.objects.filter(removed_on__isnull=True), to_attr="in_it")
    added = Prefetch("duties", DutyRow.objects.exclude(title=""), to_attr="own_rows")
    whole = cars.select_related("owner", "bay__building__site", "fuel").prefetch_related(
        in_it, added, "fluids", "tyres", "last_uses", "own_duties"
    )
    for car in whole.iterator(chunk_size=AT_ONCE):
        yield _cells(CAR_COLUMNS, cell_format, car_facts(car))


def car_facts(car: Any) -> Facts:
    """A car's record by the columns of its table; what nobody knows is left out."""
    facts: Facts = {
        field.key: getattr(car, field.key)
        for field in car_fields.CAR
        if field.key not in ("name", "owner", "place")
    }
    facts["on_stands"] = car.on_stands or None
    facts["owner"] = car.owner.name
    facts["place"] = (
        f"{car.bay.label}, {car.bay.building.name}, {car.bay.building.site.name}" if car.bay else ""
    )
    for battery in car.in_it[:1]:
        facts |= _part_facts(battery, car_fields.BATTERY)
    if fuel := _fuel(car):
        facts |= _part_facts(fuel, car_fields.FUEL)
    for fluid in car.fluids.all():
        facts |= {f"{fluid.kind}.type": fluid.type, f"{fluid.kind}.changed_on": fluid.changed_on}
        if fluid.glycol_pct is not None:
            facts[f"{fluid.kind}.glycol_pct"] = fluid.glycol_pct
    for tyre in car.tyres.all():
        facts |= {f"{tyre.position}.{name}": getattr(tyre, name) for name in ("date_code", "placard_kpa")}
    for use in car.last_uses.all():
        facts |= {f"last.{use.event}.on": use.on, f"last.{use.event}.basis": use.basis}
    days = {row.duty: row.due for row in car.own_rows}
    facts |= {f"paper.{own.kind}": days.get(own.code) for own in car.own_duties.all() if own.ended_on is None}
    return facts


def _part_facts(part: Battery | Fuel, columns: tuple[Field, ...]) -> Facts:
    return {each.key: getattr(part, each.key.partition(".")[2]) for each in columns if each in CAR_COLUMNS}


def _fuel(car: Vehicle) -> Fuel | None:
    return getattr(car, "fuel", None)


def log_table(
    entries: QuerySet[Entry], cell_format: CellFormat, organisation: Organisation, title: str = "Care log"
) -> Table:
    """Entries car by car in the order in which they were recorded, each with a number."""
    rows = _log_rows(entries, cell_format, organisation)
    return Table(title, headings(LOG_COLUMNS, cell_format), rows)


def _log_rows(entries: QuerySet[Entry], cell_format: CellFormat, organisation: Organisation) -> Iterator[Row]:
    names = numbered_names(organisation)
    ordered = entries.order_by("vehicle_id", "recorded_at", "link__seq", "pk")
    numbers: dict[str, int] = {}
    whole = ordered.select_related("vehicle", "by").prefetch_related(
        Prefetch("readings", Reading.objects.order_by("pk"))
    )
    for number, entry in enumerate(whole.iterator(chunk_size=AT_ONCE), 1):
        if entry.kind in log_fields.REFERENCES.values():
            numbers[str(entry.pk)] = number
        facts = entry_facts(entry, numbers) | {"no": number, "car.name": names[entry.vehicle_id]}
        yield _cells(LOG_COLUMNS, cell_format, facts)


def entry_facts(entry: Entry, numbers: dict[str, int]) -> Facts:
    """What an entry says by the columns of the log."""
    note, author = split_author(entry.note)
    facts: Facts = {
        "car.registration": entry.vehicle.registration,
        "car.chassis_number": entry.vehicle.chassis_number,
        "done_at": entry.done_at,
        "kind": entry.get_kind_display(),
        "by": author or entry.by.name,
        "note": note,
    }
    facts |= {f"d.{key}": value for key, value in entry.details.items()}
    for key in log_fields.REFERENCES:
        if f"d.{key}" in facts:
            facts[f"d.{key}"] = numbers.get(facts[f"d.{key}"])
    readings = list(entry.readings.all())
    if not is_flat(readings):
        return facts | {"r.json": readings_in_full(readings)}
    for reading in readings:
        place = f".{reading.position}" if reading.position else ""
        facts[f"r.{reading.quantity}{place}"] = reading.value
        facts |= {"temperature_c": reading.temperature_c, "rest_hours": reading.rest_hours}
    return facts
