"""A request of the demo barn for Monday 30 November 2026, kept as a file: the same on any day."""

import gzip
import json
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from scheduler.week.request import Building, Car, Day, Person, PlanRequest, Task

FILE = Path(__file__).parent / "demo_request.json.gz"  # by tests/bench/make_week_request.py
TABLES = {"days": Day, "tasks": Task, "cars": Car, "buildings": Building, "people": Person}
FORTNIGHT = 14


def write(request: PlanRequest) -> None:
    """Keep a request; what the plan prefers is left out."""
    kept: dict[str, Any] = {
        name: [
            {k: sorted(v) if isinstance(v, frozenset) else v for k, v in asdict(row).items()} for row in rows
        ]
        for name in TABLES
        if (rows := getattr(request, name)) is not None
    }
    kept["travel"] = [[*pair, minutes] for pair, minutes in request.travel.items()]
    kept["coldest_yard_c"] = request.coldest_yard_c
    FILE.write_bytes(gzip.compress(json.dumps(kept).encode(), mtime=0))


def demo_request() -> PlanRequest:
    """The kept request, twelve weeks of it."""
    kept = json.loads(gzip.decompress(FILE.read_bytes()))
    tables = {name: tuple(row(**_tuples(each)) for each in kept[name]) for name, row in TABLES.items()}
    tables["people"] = tuple(replace(who, may=frozenset(who.may)) for who in tables["people"])
    travel = {(one, other): minutes for one, other, minutes in kept["travel"]}
    return PlanRequest(**tables, travel=travel, coldest_yard_c=kept["coldest_yard_c"])


def _tuples(row: dict[str, Any]) -> dict[str, Any]:
    return {k: tuple(v) if isinstance(v, list) else v for k, v in row.items()}


def fortnight(request: PlanRequest) -> PlanRequest:
    """Its first two weeks, with the work that may be done in them."""
    days = request.days[:FORTNIGHT]
    tasks = tuple(t for t in request.tasks if t.early <= days[-1].day)
    return replace(request, days=days, tasks=tasks)
