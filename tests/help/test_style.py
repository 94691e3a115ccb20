"""The page of Help that shows every part: in light, in the dark and on paper, by the tokens of all pages."""

import re
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.urls import reverse

from collection.web.templatetags.longstand import STATES


def css(name):
    return Path(finders.find(f"collection/{name}.css")).read_text()


def tokens(text, begin, end="}"):
    colours = dict(re.findall(r"(--[\w-]+): ([^;]+);", text.split(begin, 1)[1].split(end, 1)[0]))
    return {name: value for name, value in colours.items() if name not in ("--serif", "--sans", "--round")}


@pytest.mark.parametrize(
    ("everywhere", "here"),
    [
        (":root {", ".in-light, .in-paper {"),
        ("prefers-color-scheme: dark) {\n  :root {", ".in-dark {"),
        ("@media print {\n  :root {", ".in-paper {"),
    ],
    ids=["light", "dark", "paper"],
)
def test_the_parts_are_shown_in_the_colours_of_every_page(everywhere, here):
    parts = css("parts").replace(".in-light, .in-paper {", ".in-light, .in-both {", 1)
    shown = tokens(parts, here.replace(".in-light, .in-paper", ".in-light, .in-both"))
    assert shown == tokens(css("longstand"), everywhere)
    assert len(shown) >= 5


def test_each_part_is_shown_three_times_and_no_name_of_an_element_comes_twice(client_as, viewer):
    page = client_as(viewer).get(reverse("help_page", args=["style"])).content.decode()
    for name in STATES:
        assert len(re.findall(rf'class="state state-{name}"', page)) == 3
    assert page.count('aria-sort="ascending"') == 3
    assert page.count('class="drawn"') == 3
    assert page.count('aria-invalid="true"') >= 3
    ids = re.findall(r'\bid="([^"]+)"', page)
    assert len(ids) == len(set(ids))
    assert 'href="/static/collection/parts' in page
    assert (
        "collection/parts" not in client_as(viewer).get(reverse("help_page", args=["due"])).content.decode()
    )
