"""What Help shows of the models is what the models give."""

from html import unescape

import numpy as np
import pytest

from collection.help.contents import PAGES
from collection.help.mechanisms import mechanisms, scorecard, stored
from collection.help.texts import body
from tests.bench import measured

FEW = 300


def test_every_curve_and_point_is_that_of_the_models():
    for kept, fresh in zip(stored()["mechanisms"], measured.mechanisms(), strict=True):
        assert {key for key in kept if kept[key] != fresh[key]} <= {"curve", "points"}, kept["key"]
        for name in ("curve", "points"):
            assert np.array(kept[name]) == pytest.approx(np.array(fresh[name]), abs=1e-3), kept["key"]


def test_the_scorecard_is_that_of_a_small_run_within_its_chance():
    fresh = measured.scorecard(FEW)
    kept = stored()["scorecard"]
    assert [(row["system"], row["world"]) for row in kept] == [(row["system"], row["world"]) for row in fresh]
    for old, new in zip(kept, fresh, strict=True):
        # three standard deviations of a share of so many cars, at least three in a hundred
        assert new["coverage_pct"] == pytest.approx(old["coverage_pct"], abs=9.0), old["world"]
        assert new["error_days"] == pytest.approx(old["error_days"], rel=0.25, abs=0.3), old["world"]


def test_the_page_shows_every_mechanism_with_its_source_and_every_world():
    html = unescape(body(PAGES["models"]))
    assert html.count("<svg") == len(mechanisms())
    assert html.count('class="point"') == sum(len(mechanism.points) for mechanism in mechanisms())
    for mechanism in mechanisms():
        assert mechanism.words["source"] in html
        assert mechanism.words["standing"] in html
    for _, worlds in scorecard():
        for world in worlds:
            assert world.name in html


def test_every_point_lies_within_its_drawing():
    for mechanism in mechanisms():
        assert all(0 <= x <= 320 and 0 <= y <= 150 for x, y in mechanism.points)
