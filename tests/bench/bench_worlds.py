"""The scorecard of dates in worlds that the core did not draw: coverage and error after 0, 1, 3, 5 readings.

``uv run python -m tests.bench.bench_worlds``
"""

from tests.scheduler.worlds.batteries import WORLDS, score

READINGS = (0, 1, 3, 5)
CARS = 2000


def main() -> None:
    print(f"{'recharge date, ' + str(CARS) + ' batteries':<32}" + "".join(f"{f'{k} readings':>22}" for k in READINGS))
    for world in WORLDS:
        cells = []
        for readings in READINGS:
            got = score(world, readings, CARS)
            cells.append(f"{got.coverage:>6.0%} in, {got.error_days:>5.1f} d {got.drawn_on:>4.0%}")
        print(f"{world.name:<32}" + "".join(f"{cell:>22}" for cell in cells))
    print("in: true day within early and late; d: middle error; last: told that something draws on it")


if __name__ == "__main__":
    main()
