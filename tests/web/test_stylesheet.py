"""The stylesheet holds what pages use, and nothing else."""

import re
from pathlib import Path

from django.conf import settings

STATIC = settings.BASE_DIR / "collection/static/collection"
COMPOSED = re.compile(
    r"(mark|mark-stage|answer|state)-(\w+)"
)  # of a state's code, which is not written out anywhere


def named_in(text):
    """Classes of the selectors of some CSS."""
    bare = re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)
    return set(re.findall(r"\.(-?[a-zA-Z_][\w-]*)", re.sub(r"\{[^{}]*\}", "{}", bare)))


def everything_that_names_a_class():
    folders = (settings.BASE_DIR / "templates", settings.BASE_DIR / "collection")
    kinds = ("*.html", "*.py", "*.js")
    return "\n".join(
        Path(path).read_text() for folder in folders for kind in kinds for path in folder.rglob(kind)
    )


def test_no_rule_is_left_of_what_no_page_shows():
    text = everything_that_names_a_class()
    unused = [
        name
        for name in named_in((STATIC / "longstand.css").read_text())
        if not re.search(rf"(?<![\w-]){re.escape(name)}(?![\w-])", text)
        and not ((composed := COMPOSED.fullmatch(name)) and f'"{composed[2]}"' in text)
    ]
    assert unused == []


def test_one_stylesheet_for_all_pages_stays_small():
    assert len((STATIC / "longstand.css").read_bytes()) < 41_000
