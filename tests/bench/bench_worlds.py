"""The scorecard of dates in worlds that the core did not draw: coverage and error after 0, 1, 3, 5 readings.

``uv run python -m tests.bench.bench_worlds``
"""

from collections.abc import Iterator

from tests.scheduler.worlds import batteries, tyres

READINGS = (0, 1, 3, 5)
CARS = 2000
SYSTEMS = {"recharge a battery": batteries, "pump up a tyre": tyres}


def table() -> Iterator[str]:
    """The scorecard line by line."""
    for title, system in SYSTEMS.items():
        yield f"{f'{title}, {CARS} cars':<32}" + "".join(f"{f'{k} readings':>18}" for k in READINGS)
        for world in system.WORLDS:
            scores = [system.score(world, readings, CARS) for readings in READINGS]
            cells = [f"{one.coverage:.0%} in, {one.error_days:.1f} d" for one in scores]
            yield f"{world.name:<32}" + "".join(f"{cell:>18}" for cell in cells)
    yield "in: the true day within early and late; d: middle error"


if __name__ == "__main__":
    print("\n".join(table()))  # noqa: T201 - a bench prints
