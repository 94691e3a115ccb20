"""What is wrong with what was sent: a message a fault, naming car, fact and field."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from scheduler.command.cars import Car, contradictions

MESSAGES = {"extra_forbidden": "is not known here", "missing": "is missing"}
LONGEST = 300  # of a message: what was sent may be long


class Faults(ValueError):
    """Some cars cannot be read; ``messages`` says why, a line each."""

    def __init__(self, messages: Sequence[str]) -> None:
        self.messages = list(messages)
        super().__init__("\n".join(self.messages))


def cars_of(sent: object, on: date) -> list[Car]:
    """The cars of a document: one object or a list of them. Raises Faults with all that is wrong."""
    given = sent if isinstance(sent, list | tuple) else [sent]
    cars, messages = [], []
    for number, one in enumerate(given, 1):
        name = _name(one, number)
        try:
            car = one if isinstance(one, Car) else Car.model_validate(one)
        except ValidationError as fault:
            messages += [_short(f"{name}: {_message(detail, one)}") for detail in fault.errors()]
            continue
        cars.append(car)
        messages += [_short(f"{name}: {message}") for message in _contradictions(car, on)]
    messages += _twice(cars)
    if messages:
        raise Faults(messages)
    return cars


def _name(one: object, number: int) -> str:
    known = one.id if isinstance(one, Car) else one.get("id") if isinstance(one, Mapping) else None
    return f"car {known!r}" if isinstance(known, str) else f"car number {number}"


def _message(detail: ErrorDetails, one: Any) -> str:
    """One fault of shape: where, then what."""
    where = list(detail["loc"])
    message = MESSAGES.get(detail["type"], detail["msg"].removeprefix("Value error, "))
    message = message[:1].lower() + message[1:]
    if len(where) >= 2 and where[0] == "facts" and isinstance(where[1], int):
        fact = one["facts"][where[1]]
        return ": ".join([_fact(where[1], fact), *_field(where[3:], detail), message])
    return ": ".join([*_field(where, detail), message])


def _field(where: Sequence[int | str], detail: ErrorDetails) -> list[str]:
    if not where and "discriminator" in detail.get("ctx", {}):
        return ["kind"]
    return [".".join(f"{part + 1}" if isinstance(part, int) else part for part in where)] if where else []


def _fact(number: int, fact: Any) -> str:
    """A fact by its place in the list, its kind and its day as far as these can be read."""
    fields = fact if isinstance(fact, Mapping) else {}
    kind, on = (fields.get(key) for key in ("kind", "on"))
    words = [f"{kind}"] if isinstance(kind, str) else []
    words += [f"on {on}"] if isinstance(on, str | date) else []
    return f"fact {number + 1} ({' '.join(words)})" if words else f"fact {number + 1}"


def _contradictions(car: Car, on: date) -> Iterator[str]:
    for number, field, problem in contradictions(car, on):
        fact = car.facts[number]
        yield f"{_fact(number, {'kind': fact.kind, 'on': fact.on})}: {field}: {problem}"


def _twice(cars: Sequence[Car]) -> list[str]:
    seen: set[str] = set()
    twice = dict.fromkeys(car.id for car in cars if car.id in seen or seen.add(car.id))  # type: ignore[func-returns-value]
    return [_short(f"car {name!r}: id: is that of two cars") for name in twice]


def _short(message: str) -> str:
    """One line, of a bearable length, that any terminal can show."""
    line = "".join(letter if letter.isprintable() else " " for letter in message)
    return line if len(line) <= LONGEST else f"{line[: LONGEST - 1]}…"
