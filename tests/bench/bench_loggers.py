"""Three years at every minute: how long and in how much memory a file is read; run by hand.

uv run python -m tests.bench.bench_loggers
"""

import os
import resource
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter, process_time

import numpy as np

NOW = datetime(2026, 11, 25, tzinfo=UTC)
MINUTES = 3 * 365 * 1440


def _air() -> bytes:
    moment = np.datetime_as_string(np.datetime64("2023-01-01T00:00", "m") + np.arange(MINUTES))
    warm = 10 + 8 * np.sin(np.arange(MINUTES) / 1440 * 2 * np.pi)
    rows = (f"{m.replace('T', ' ')}:00,{w:.2f},70.1" for m, w in zip(moment, warm, strict=True))
    return "\n".join(["Date Time,Temp °C,RH %", *rows, ""]).encode()


def _volts() -> bytes:
    moment = np.datetime_as_string(np.datetime64("2023-01-01T00:00", "m") + np.arange(MINUTES))
    day = np.arange(MINUTES) / 1440
    volts = np.where(day % 60 < 0.4, 14.3, 12.7 - 0.004 * (day % 60))
    rows = (f"{m},{v:.3f}" for m, v in zip(moment, volts, strict=True))
    return "\n".join(["Time (UTC),Battery V", *rows, ""]).encode()


def _read(name: str, path: Path) -> None:
    """Read one file in a process of its own and print what it took."""
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "collection.settings")
    django.setup()
    from collection.loggers.core.stream import battery_of
    from collection.loggers.core.understand import understand

    data, battery = path.read_bytes(), battery_of(12, "calcium") if name == "volts" else None
    wall, cpu = perf_counter(), process_time()
    found = understand(
        data, layout=None, zone="Europe/London", battery=battery, now=NOW, tell=lambda _words: None
    )
    wall, cpu = perf_counter() - wall, process_time() - cpu
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(  # noqa: T201 - a bench prints
        f"{name}: {len(data) / 1e6:.0f} MB, {found.facts['rows']:,} rows, {found.hours.hour.size:,} hours: "
        f"{wall:.1f} s by the clock, {cpu:.1f} s of processor, {peak:.0f} MB at most"
    )


def main() -> None:
    """Write a file of each kind and have it read."""
    with TemporaryDirectory() as folder:
        for name, make in (("air", _air), ("volts", _volts)):
            path = Path(folder) / f"{name}.csv"
            path.write_bytes(make())
            subprocess.run([sys.executable, "-m", "tests.bench.bench_loggers", name, str(path)], check=True)  # noqa: S603 - ourselves


if __name__ == "__main__":
    _read(sys.argv[1], Path(sys.argv[2])) if len(sys.argv) > 1 else main()
