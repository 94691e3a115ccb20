"""The worked examples of the page on the core: asked for as they stand, they give what they show."""

import json

from collection.help.contents import PAGES
from collection.help.texts import blocks, body
from scheduler import forecast
from tests.scheduler.command.cars import ON

SECTIONS = ("running-down", "found", "past")


def examples():
    """Document and answer of each example, in order."""
    texts = [block.text for block in blocks(body(PAGES["the-core"])) if block.tag == "pre"]
    documents = [json.loads(" ".join(text.split())) for text in texts if text.lstrip().startswith(("{", "["))]
    return list(zip(documents[::2], documents[1::2], strict=True))


def holds(shown, computed):
    """Whether what is shown is part of what is said; a duty is found by its code."""
    if isinstance(shown, dict):
        return all(key in computed and holds(part, computed[key]) for key, part in shown.items())
    if isinstance(shown, list) and shown and isinstance(shown[0], dict) and "duty" in shown[0]:
        by_duty = {each["duty"]: each for each in computed}
        return all(holds(each, by_duty[each["duty"]]) for each in shown)
    if isinstance(shown, list):
        return len(shown) == len(computed) and all(map(holds, shown, computed))
    return shown == computed


def test_each_example_gives_what_it_shows():
    pairs = examples()
    assert len(pairs) == len(SECTIONS)
    for document, shown in pairs:
        computed = json.loads(json.dumps(forecast(document, on=ON), default=str))
        assert holds(shown if isinstance(shown, list) else [shown], computed), computed


def test_what_differs_is_noticed():
    document, shown = examples()[0]
    shown["duties"][0]["by"] = "2026-12-12"
    assert not holds([shown], json.loads(json.dumps(forecast(document, on=ON), default=str)))


def test_the_short_call_in_python_works():
    assert forecast({"id": "A", "facts": []}, on=ON)[0]["id"] == "A"
