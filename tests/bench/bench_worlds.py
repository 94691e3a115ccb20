"""The scorecard of dates in worlds that the core did not draw: coverage and error after 0, 1, 3, 5 readings.

``uv run python -m tests.bench.bench_worlds``; ``tests.bench.measured`` writes it where Help reads it.
"""

from collections.abc import Iterator

from tests.bench.measured import CARS, READINGS, scorecard


def table() -> Iterator[str]:
    """The scorecard line by line."""
    system = ""
    for row in scorecard(CARS):
        if row["system"] != system:
            system = row["system"]
            yield f"{f'{system}, {CARS} cars':<36}" + "".join(f"{f'{k} readings':>18}" for k in READINGS)
        scores = zip(row["coverage_pct"], row["error_days"], strict=True)
        cells = [f"{coverage:.0f} % in, {error:.1f} d" for coverage, error in scores]
        yield f"{row['world']:<36}" + "".join(f"{cell:>18}" for cell in cells)
    yield "in: the true day within early and late; d: middle error"


if __name__ == "__main__":
    print("\n".join(table()))  # noqa: T201 - a bench prints
