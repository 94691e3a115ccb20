"""The command: what it is asked, what it prints and with which status it ends."""

import argparse
import json
from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import Any, BinaryIO, TextIO

from pydantic import TypeAdapter

from scheduler.command.answers import CarSaid
from scheduler.command.cars import Car
from scheduler.command.faults import Faults, cars_of
from scheduler.command.forecast import checked_day, explain, say
from scheduler.command.shapes import read_day
from scheduler.duties.windows import Explanation
from scheduler.vocabulary.duties import DUTY

WRONG = 2  # the status of what cannot be read, as of a command that is not understood
STANDARD_INPUT = "-"
DEEPEST = "it is nested too deeply"


def run(words: Sequence[str], given: BinaryIO, out: TextIO, wrong: TextIO) -> int:
    """Do what ``words`` ask; nothing is printed to ``out`` unless all of it could be read."""
    asked = _parser().parse_args(words)
    try:
        answer = _answer(asked, given)
    except Faults as faults:
        wrong.write("".join(f"{message}\n" for message in faults.messages))
        return WRONG
    out.write(f"{answer}\n")
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m scheduler", description="What the core makes of cars, from their dated facts."
    )
    parser.add_argument("file", nargs="?", help="a JSON file of one car or a list; - for standard input")
    parser.add_argument("--on", type=_day, metavar="DAY", help="the day to ask about, such as 2026-12-01")
    parser.add_argument("--schema", action="store_true", help="print the JSON Schemas of input and output")
    parser.add_argument(
        "--explain", choices=DUTY, metavar="DUTY", help="why a duty of the first car is due then"
    )
    return parser


def _day(text: str) -> date:
    try:
        day: date = read_day(text)
    except ValueError as fault:
        raise argparse.ArgumentTypeError(f"{fault}") from fault
    return day


def _answer(asked: argparse.Namespace, given: BinaryIO) -> str:
    if asked.schema:
        return _printed({"input": schema_in(), "output": schema_out()})
    if asked.file is None or asked.on is None:
        raise Faults(["give a file, or - for standard input, and --on with a day"])
    on = checked_day(asked.on)
    cars = cars_of(_document(asked.file, given), on)
    if asked.explain:
        if not cars:
            raise Faults(["there is no car to explain"])
        return "\n".join(_in_words(explain(cars[0], asked.explain, on)))
    return _printed([car.model_dump(mode="json") for car in say(cars, on)])


def schema_in() -> dict[str, Any]:
    """The JSON Schema of what is read."""
    return TypeAdapter(Car | list[Car]).json_schema()


def schema_out() -> dict[str, Any]:
    """The JSON Schema of what is said."""
    return TypeAdapter(list[CarSaid]).json_schema(mode="serialization")


def _printed(answer: object) -> str:
    return json.dumps(answer, ensure_ascii=False, indent=1)


def _document(name: str, given: BinaryIO) -> object:
    """What a file or standard input holds; Faults where it is no JSON document."""
    try:
        sent = given.read() if name == STANDARD_INPUT else Path(name).read_bytes()
        return json.loads(sent, object_pairs_hook=_object, parse_constant=_no_number)
    except OSError as fault:
        raise Faults([f"{name}: {fault.strerror or fault}"]) from fault
    except RecursionError as fault:
        raise Faults([f"{name}: {DEEPEST}"]) from fault
    except ValueError as fault:  # no JSON, no text, a number beyond all measure
        raise Faults([f"{name}: {fault}"]) from fault


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    keys = [key for key, _ in pairs]
    for key in keys:
        if keys.count(key) > 1:
            raise ValueError(f"the key {key!r} stands twice in one object")
    return dict(pairs)


def _no_number(word: str) -> float:
    raise ValueError(f"{word} is no number of JSON")


def _in_words(reason: Explanation) -> Iterator[str]:
    """The reason as lines of text."""
    yield reason.summary
    for title, lines in (
        ("Assumed", reason.assumptions),
        (
            "From",
            [
                f"{each.name}: {each.value} {each.unit}".rstrip() + f" ({each.basis})"
                for each in reason.inputs
            ],
        ),
        ("Worked out", [f"{step.label}: {step.equation}; {step.worked}" for step in reason.steps]),
        ("Learned", reason.learning),
        ("Sources", [f"{source.text} ({source.standing})" for source in reason.sources]),
    ):
        if lines:
            yield f"\n{title}"
            yield from (f"- {line}" for line in lines)
