"""Duties, kinds of care and quantities are listed in the vocabulary and nowhere else."""

import ast
from collections.abc import Iterator
from enum import EnumType
from pathlib import Path

import pytest

from collection.models import CareKind, FluidKind, Quantity
from collection.models import choices as made_of_rows
from scheduler.vocabulary.care import CARE
from scheduler.vocabulary.duties import DUTIES
from scheduler.vocabulary.quantities import QUANTITIES

ROOT = Path(__file__).parents[2]
# Where a thing is computed or was frozen, its name may stand; nowhere else.
EXEMPT = (
    "scheduler/vocabulary",
    "scheduler/duties",
    "scheduler/physics",
    "scheduler/materials",
    "collection/migrations",
)
CODES = {
    "duties": {row.code for row in DUTIES},
    "kinds of care": {row.code for row in CARE},
    "quantities": {row.code for row in QUANTITIES},
}
MOST = 3
NAMED = ("CareKind", "FluidKind", "Quantity")


def sources() -> Iterator[Path]:
    for part in ("collection", "scheduler"):
        for path in sorted((ROOT / part).rglob("*.py")):
            if not path.relative_to(ROOT).as_posix().startswith(EXEMPT):
                yield path


def _names(node: ast.AST) -> Iterator[str]:
    """What an element of a literal names: itself, the first words of a call, a pair's own elements."""
    match node:
        case ast.Constant(value=str(value)):
            yield value
        case ast.Attribute(value=ast.Name(id=name)) if name in NAMED or len(name) == 1:
            yield node.attr.lower()
        case ast.Tuple() | ast.List() | ast.Set():
            for element in node.elts:
                yield from _names(element)
        case ast.Call():
            for argument in (*node.args, *(keyword.value for keyword in node.keywords)):
                yield from _names(argument)


def _elements(node: ast.AST) -> list[ast.AST]:
    match node:
        case ast.Dict():
            return [*(key for key in node.keys if key), *node.values]
        case ast.Tuple() | ast.List() | ast.Set():
            return list(node.elts)
        case ast.ClassDef():
            return [each.value for each in node.body if isinstance(each, ast.Assign)]
    return []


def second_lists(tree: ast.AST) -> Iterator[tuple[int, str]]:
    for node in ast.walk(tree):
        named = {name for element in _elements(node) for name in _names(element)}
        for what, codes in CODES.items():
            if len(named & codes) > MOST:
                yield node.lineno, f"names {len(named & codes)} {what}: {', '.join(sorted(named & codes))}"


def compared_duties(tree: ast.AST) -> Iterator[tuple[int, str]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare):
            for side in (node.left, *node.comparators):
                if isinstance(side, ast.Constant) and side.value in CODES["duties"]:
                    yield node.lineno, ast.unparse(node)


@pytest.mark.parametrize("check", [second_lists, compared_duties])
def test_nothing_else_names_them_by_hand(check):
    faults = [
        f"{path.relative_to(ROOT)}:{line}: {words}"
        for path in sources()
        for line, words in check(ast.parse(path.read_text()))
    ]
    assert not faults, "\n".join(faults)


@pytest.mark.parametrize(
    "source",
    [
        'X = {"charge": 1, "run_up": 2, "coolant": 3, "inspection": 4}',
        'X = ("charge", "run_up", "coolant", "inspection")',
        "X = {CareKind.CHARGE: 1, CareKind.NOTE: 2, CareKind.MOVED: 3, CareKind.HAZARD: 4}",
        'class Q(Enum):\n    A = "rested_volts", "a"\n    B = "oil_pressure", "b"\n'
        '    C = "surface_rh", "c"\n    D = "brake_water", "d"',
        'X = [Row("charge"), Row("run_up"), Row(code="coolant"), Row("axle_oil")]',
    ],
)
def test_a_second_list_is_found_in_any_form(source):
    assert list(second_lists(ast.parse(source)))


def test_a_comparison_with_a_duty_is_found():
    assert list(compared_duties(ast.parse('if line.duty == "run_up": pass')))


def test_templates_compare_no_duty_by_name():
    faults = [
        f"{path.relative_to(ROOT)}: {code}"
        for path in (ROOT / "templates").rglob("*.html")
        for code in CODES["duties"]
        if f'duty == "{code}"' in path.read_text()
    ]
    assert not faults


def test_every_member_that_code_names_is_a_row():
    """The classes are made of rows, so that a type checker cannot see a slip of the pen in a name."""
    made = {name: getattr(made_of_rows, name) for name in dir(made_of_rows) if name[0].isupper()}
    known = {name: set(cls.__members__) for name, cls in made.items() if isinstance(cls, EnumType)}
    assert {CareKind.__name__, FluidKind.__name__, Quantity.__name__} <= set(known)
    of_the_class = {"choices", "values", "names", "labels"}
    faults = [
        f"{path.relative_to(ROOT)}:{node.lineno}: {node.value.id}.{node.attr}"
        for path in sources()
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in known
        if node.attr not in known[node.value.id] | of_the_class
    ]
    assert not faults, "\n".join(faults)
