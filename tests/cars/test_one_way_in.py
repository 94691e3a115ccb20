"""Nothing changes a car's record but what writes an entry of it: every such line is known here."""

import ast
from pathlib import Path

import pytest
from django.conf import settings

from collection.care.queries.record import CAR, PARTS
from collection.models import Battery, CarRule, Fluid, Fuel, HandbookValue, LastUse, OwnDuty, Tyre, Vehicle

ROOM = Path(settings.BASE_DIR) / "collection"
OF_PARTS = (Vehicle, Battery, Fluid, Fuel, LastUse, Tyre, CarRule, OwnDuty, HandbookValue)
ROWS = {model.__name__: model for model in OF_PARTS}
RELATED = {"batteries", "fluids", "tyres", "last_uses", "rules", "own_duties", "handbook_values"}
OWN_WORDS = {
    "model",
    "type",
    "kind",
    "on",
    "year",
    "litres",
    "volts",
    "grade",
    "engine",
    "position",
    "event",
    "basis",
    "reason",
    "title",
    "minutes",
    "low",
    "high",
    "source",
}
FIELDS = (
    {"bay", "photograph", *CAR} | {name for _, _, names in PARTS.values() for name in names}
) - OWN_WORDS
PUTTING = {f"put_{part}" for part in ("vehicle", "battery", "fuel", "fluids", "tyres", "last_uses")}
WRITING = {"create", "bulk_create", "update_or_create", "get_or_create", "update", "bulk_update", "delete"}

# Each writes inside ``recorded``, opens the record itself, or is called by who does.
WRITES = {
    "cars/actions/batteries.py": "recorded",
    "cars/actions/fluids.py": "recorded",
    "cars/actions/fuel.py": "recorded",
    "cars/actions/own_duties.py": "recorded",
    "cars/actions/rules.py": "recorded",
    "cars/actions/tyres.py": "recorded",
    "cars/actions/vehicles.py": "recorded",
    "recommission/actions/settings.py": "recorded",
    "handover/actions/handovers.py": "recorded",
    "handover/actions/arrivals.py": "open_records",
    "spreadsheets/actions/undoing.py": "recorded",
    "spreadsheets/actions/cars.py": "by spreadsheets/actions/bringing.py",
    "cars/actions/start.py": "open_records",
    "cars/forms/start.py": "by cars/actions/start.py",
    "cars/forms/vehicles.py": "what a form holds, stored by cars/actions/vehicles.py",
    "demo/cars.py": "by demo/building.py",
    "demo/stories.py": "by demo/building.py",
    "spreadsheets/actions/log.py": "of a copy, to be checked against, never stored",
    "care/actions/moves.py": "a logged move, which is an entry itself",
    "car_page/actions.py": "recorded",
}


def written(tree):
    """What a file does to rows of a record: assignments to their columns, and calls that write them."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign | ast.AugAssign | ast.AnnAssign):
            yield from _assigned(node)
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            yield from _asked_of_a_table(node)
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in PUTTING:
            yield node.func.id


def _assigned(node):
    targets = node.targets if isinstance(node, ast.Assign) else [node.target]
    for target in (each for top in targets for each in ast.walk(top)):
        if isinstance(target, ast.Attribute) and target.attr in FIELDS and _of_another(target):
            yield f"{target.attr} ="


def _asked_of_a_table(node):
    names = {each.id for each in ast.walk(node.func) if isinstance(each, ast.Name)}
    attributes = {each.attr for each in ast.walk(node.func) if isinstance(each, ast.Attribute)}
    if node.func.attr in WRITING and (names & ROWS.keys() or attributes & RELATED):
        yield f".{node.func.attr}("
    named = [keyword.value for keyword in node.keywords if keyword.arg == "update_fields"]
    saved = {each.value for value in named for each in ast.walk(value) if isinstance(each, ast.Constant)}
    if node.func.attr == "save" and saved & FIELDS:
        yield f".save({saved & FIELDS})"


def _of_another(target):
    return not (isinstance(target.value, ast.Name) and target.value.id == "self")


def every_file():
    for path in sorted(ROOM.rglob("*.py")):
        name = path.relative_to(ROOM).as_posix()
        if not name.startswith(("migrations/", "models/")):
            yield name, ast.parse(path.read_text())


def test_only_known_files_write_rows_of_a_record():
    writers = {name: places for name, tree in every_file() if (places := list(written(tree)))}
    assert writers.keys() - WRITES.keys() == set(), writers
    assert WRITES.keys() - writers.keys() == set()


@pytest.mark.parametrize("name", WRITES)
def test_each_of_them_writes_an_entry_with_it(name):
    how = WRITES[name]
    if how.startswith("by "):
        name, how = how.removeprefix("by "), "open_records"
    if how in ("recorded", "open_records"):
        calls = [
            node.func.id
            for node in ast.walk(ast.parse((ROOM / name).read_text()))
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        ]
        assert how in calls


@pytest.mark.parametrize(
    "code",
    [
        "car.bay = other",
        "car.left_on, car.bay = day, None",
        "Vehicle.objects.filter(pk=1).update(regime='dormant')",
        "car.batteries.all().delete()",
        "row.save(update_fields=['on_stands'])",
        "put_tyres(vehicle=car, tyres=[], today=day)",
    ],
)
def test_a_line_that_writes_a_record_is_seen(code):
    assert list(written(ast.parse(code)))
