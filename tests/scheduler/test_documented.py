"""What one part of the core offers another says its shapes, its units and what it refuses; nothing idles."""

import ast
import re
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).parents[2]
CORE = {path: ast.parse(path.read_text()) for path in sorted((ROOT / "scheduler").rglob("*.py"))}
SITE = {
    path: ast.parse(path.read_text())
    for path in sorted((ROOT / "collection").rglob("*.py"))
    if "migrations" not in path.parts
}

BY_CODE = {"window", "explain", "band"}  # of each duty's module, which the table of duties finds by its code
ARRAY = re.compile(r"ArrayLike|NDArray|ndarray|Floats|Ints|Bools|Figures")
NUMBERS = re.compile(r"ArrayLike|float|Floats|Figures")
# "(n,)", "(3, n)", "(p, d+1)", "(.., d)", or in words
SHAPE = re.compile(r"\((?:\.\.|[a-z0-9]+),[^)]*\)|any shape|shapes broadcast|matching shapes", re.IGNORECASE)
# a name that ends in its unit, or in a word that has only one
UNIT = re.compile(
    r"(?:^|_)(?:c|k|m|s|v|a|ah|ma|kpa|hpa|pa|wh|pct|ppm|ml|litres|m3|h|days?|hours|years?|months|minutes|volts"
    r"|share|soc)(?:_(?:at_25c|hourly|per_\w+))?$"
)
REFUSES = re.compile(r"BadInput|OutOfRange|[Rr]aises")


def reached(tree):
    """Every (module, name) that a file takes from another, and what it asks of any object, as ("", name)."""
    modules = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            for alias in node.names:
                yield node.module, alias.name
                modules[alias.asname or alias.name] = f"{node.module}.{alias.name}"
        elif isinstance(node, ast.Import):
            modules |= {alias.asname or alias.name: alias.name for alias in node.names}
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute):
            yield "", node.attr
            if isinstance(node.value, ast.Name) and node.value.id in modules:
                yield modules[node.value.id], node.attr


def module_of(path):
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


FILES_THAT_REACH = Counter(pair for path, tree in (CORE | SITE).items() for pair in set(reached(tree)))


def public(tree):
    """Functions and classes that the file may offer, and the methods of its classes, each with its name."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            yield node.name, node
        if isinstance(node, ast.ClassDef):
            for part in node.body:
                if isinstance(part, ast.FunctionDef) and not part.name.startswith("_"):
                    yield f"{node.name}.{part.name}", part


def is_reached(path, name):
    """Whether another file takes the function or class, or asks an object for the method."""
    if "." in name:
        return ("", name.rpartition(".")[2]) in FILES_THAT_REACH
    return (module_of(path), name) in FILES_THAT_REACH


def offered():
    """What another file of the core or the site reaches, as (place, node)."""
    for path, tree in CORE.items():
        for name, node in public(tree):
            if name in BY_CODE or is_reached(path, name):
                yield f"{path.relative_to(ROOT)} {name}", node


OFFERED = dict(offered())


def arrays(node):
    """The arguments or fields that are arrays, by name, each with its annotation."""
    parts = node.body if isinstance(node, ast.ClassDef) else [*node.args.args, *node.args.kwonlyargs]
    for part in parts:
        if isinstance(part, ast.arg | ast.AnnAssign) and part.annotation:
            annotation = ast.unparse(part.annotation)
            if ARRAY.search(annotation):
                yield part.arg if isinstance(part, ast.arg) else part.target.id, annotation


def gives_arrays(node):
    return isinstance(node, ast.FunctionDef) and node.returns and ARRAY.search(ast.unparse(node.returns))


def test_what_is_offered_says_in_a_sentence_what_it_is():
    bare = [place for place, node in OFFERED.items() if not (ast.get_docstring(node) or "").strip()]
    assert bare == []
    unended = [place for place, node in OFFERED.items() if not re.search(r"[.:]$", first_part(node))]
    assert unended == []


def first_part(node):
    return ast.get_docstring(node).partition("\n\n")[0].strip()


def test_whatever_takes_or_gives_arrays_names_their_shapes():
    takers = {place: node for place, node in OFFERED.items() if any(arrays(node)) or gives_arrays(node)}
    assert len(takers) > 100
    assert [place for place, node in takers.items() if not SHAPE.search(ast.get_docstring(node))] == []


def test_every_array_of_numbers_has_its_unit_in_its_name_or_is_explained():
    silent = [
        f"{place}: {name}"
        for place, node in OFFERED.items()
        if isinstance(node, ast.FunctionDef)
        for name, annotation in arrays(node)
        if NUMBERS.search(annotation)
        and not UNIT.search(name)
        and not re.search(rf"\b{name}\b", ast.get_docstring(node))
    ]
    assert silent == []


def test_what_refuses_an_argument_says_so():
    silent = [
        place
        for place, node in OFFERED.items()
        if isinstance(node, ast.FunctionDef) and refuses(node) and not REFUSES.search(ast.get_docstring(node))
    ]
    assert silent == []


def refuses(function):
    """Whether its own body raises, or asks ``within`` for a range."""
    return any(
        (isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "within")
        or (isinstance(node, ast.Raise) and node.exc and REFUSES.search(ast.unparse(node.exc)))
        for node in ast.walk(function)
    )


def test_no_public_function_of_the_core_is_reached_by_tests_alone():
    idle = [
        f"{path.relative_to(ROOT)} {name}"
        for path, tree in CORE.items()
        for name, node in public(tree)
        if name not in BY_CODE and not is_reached(path, name) and node.name not in read_in(tree)
    ]
    assert idle == []


def read_in(tree):
    return {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
