"""The scorecard of dates in worlds that the core did not draw: coverage and error after 0, 1, 3, 5 readings.

``uv run python -m tests.bench.bench_worlds``
"""

from collections.abc import Iterator

from tests.scheduler.worlds.batteries import WORLDS, score

READINGS = (0, 1, 3, 5)
CARS = 2000


def table() -> Iterator[str]:
    """The scorecard line by line."""
    yield f"{f'recharge date, {CARS} batteries':<32}" + "".join(f"{f'{k} readings':>22}" for k in READINGS)
    for world in WORLDS:
        scores = [score(world, readings, CARS) for readings in READINGS]
        cells = [f"{one.coverage:.0%} in, {one.error_days:.1f} d, {one.drawn_on:.0%}" for one in scores]
        yield f"{world.name:<32}" + "".join(f"{cell:>22}" for cell in cells)
    yield "in: the true day within early and late; d: middle error; last: told that something draws on it"


if __name__ == "__main__":
    print("\n".join(table()))  # noqa: T201 - a bench prints
