"""A duty, a kind of care, a quantity, a fluid and a tag are added as DEVELOPERS.md says, and walked through.

The recipes are followed in a copy of the tree: one row each, and for the duty its one file. Nothing else
of the copy is changed. Then ``recipes/walk.py`` is run there, from form to due page, week, history, export
and programmes.
"""

import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
RECIPES = Path(__file__).parent / "recipes"
NEEDED = ("collection", "scheduler", "templates", "fixtures", "tests", "manage.py", "pyproject.toml")
# by recipe: the table, and what follows its last row there
TABLES = {
    "duty": ("duties.py", ")\n\n\ndef _own("),
    "care": ("care.py", ")\nKIND = "),
    "quantity": ("quantities.py", ")\nQUANTITY = "),
    "fluid": ("fluids.py", ")\nFLUID = "),
    "tag": ("tags.py", ")\nTAG = "),
}
MODULE = "scheduler/duties/car/door_seals.py"


def copy_of_the_tree(home: Path) -> None:
    for name in NEEDED:
        source = ROOT / name
        if source.is_dir():
            # what is compiled stays good with its file's time, but for what another process is just writing
            shutil.copytree(source, home / name, ignore=shutil.ignore_patterns("*.pyc.*"))
        else:
            shutil.copy(source, home / name)


def follow(recipe: str, home: Path) -> None:
    """Put the recipe's row at the end of its table."""
    name, end = TABLES[recipe]
    path = home / "scheduler/vocabulary" / name
    before, ending, after = path.read_text().partition(end)
    assert ending, f"{name} has no end that the recipe knows"
    path.write_text(before + (RECIPES / f"{recipe}.row").read_text() + ending + after)


def test_each_recipe_followed_gives_a_thing_that_works_everywhere(tmp_path):
    copy_of_the_tree(tmp_path)
    for recipe in TABLES:
        follow(recipe, tmp_path)
    shutil.copy(RECIPES / "door_seals.py", tmp_path / MODULE)
    ran = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "tests/vocabulary/recipes/walk.py"],
        cwd=tmp_path,
        env={**os.environ, "LONGSTAND_DATA": str(tmp_path / "data"), "PYTHONPATH": str(tmp_path)},
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
    )
    assert ran.returncode == 0, ran.stdout[-6000:] + ran.stderr[-2000:]
    assert " passed" in ran.stdout
