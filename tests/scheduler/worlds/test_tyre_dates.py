"""The day to pump up holds in worlds that the core did not draw."""

import pytest

from tests.scheduler.worlds.tyres import OWN, WORLDS, score


@pytest.mark.parametrize("readings", [0, 1, 3, 5])
def test_in_the_cores_own_world_the_dates_are_as_sure_as_they_say(readings):
    assert 0.85 <= score(OWN, readings, 1000).coverage <= 0.95


@pytest.mark.parametrize("world", WORLDS, ids=lambda world: world.name)
@pytest.mark.parametrize("readings", [3, 5])
def test_the_true_day_lies_within_the_dates(world, readings):
    assert score(world, readings, 1000).coverage >= 0.80


@pytest.mark.parametrize(
    "world", [world for world in WORLDS if not world.strays], ids=lambda world: world.name
)
def test_readings_bring_the_day_nearer(world):
    assert score(world, 5, 400).error_days < 0.8 * score(world, 0, 400).error_days
