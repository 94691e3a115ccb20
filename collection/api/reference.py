"""The description as plain values for the page that shows it."""

import json
from dataclasses import dataclass
from typing import Any

from collection.web.problem_json import KINDS

Schema = dict[str, Any]
Words = list[tuple[str, str]]  # a piece of text, and the shape that it leads to
PARTS = ("limit", "offset")  # of every list: described once for all
SHARED = (*PARTS, "If-None-Match")  # the last, of everything that is read
MOST_SHOWN = 12  # words of an enumeration, before "…"
LARGE = 1e9  # a limit that only a machine has


@dataclass(frozen=True)
class Field:
    """One parameter, or one field of a shape."""

    name: str
    where: str
    type: Words
    needed: bool
    description: str


@dataclass(frozen=True)
class OperationText:
    """One operation."""

    id: str
    method: str
    path: str
    summary: str
    description: str
    scope: str
    parameters: list[Field]
    in_parts: bool
    body: Words
    answers: list[tuple[str, Words]]


@dataclass(frozen=True)
class Shape:
    """One shape: its fields, or its words."""

    name: str
    description: str
    fields: list[Field]
    type: Words


def groups(made: Schema) -> list[tuple[str, list[OperationText]]]:
    """The operations by noun."""
    by_tag: dict[str, list[OperationText]] = {tag["name"]: [] for tag in made["tags"]}
    for path, methods in made["paths"].items():
        for method, one in methods.items():
            by_tag[one["tags"][0]].append(_describe_operation(one, method, path))
    return list(by_tag.items())


def message(made: Schema) -> OperationText:
    """What is sent to a webhook."""
    return _describe_operation(made["webhooks"]["dutiesChanged"]["post"], "post", "your address")


def shapes(made: Schema) -> list[Shape]:
    """Every shape by name."""
    return [_shape(name, one) for name, one in sorted(made["components"]["schemas"].items())]


def problems() -> list[tuple[int, str, str]]:
    """Every kind of refusal: status, title, meaning."""
    return [(status, title, meaning) for status, (title, meaning) in KINDS.items()]


def _describe_operation(one: Schema, method: str, path: str) -> OperationText:
    doors: Schema = (one.get("security") or [{}])[0]
    scopes: list[str] = next(iter(doors.values()), [])
    parameters = [_parameter(each) for each in one.get("parameters", ())]
    answers = [
        (code, _type(_content(answer))) for code, answer in one["responses"].items() if code.startswith("2")
    ]
    return OperationText(
        one["operationId"],
        method.upper(),
        path,
        one["summary"],
        one.get("description", ""),
        scopes[0] if scopes else "",
        [each for each in parameters if each.name not in SHARED],
        any(each.name in PARTS for each in parameters),
        _type(_content(one["requestBody"])) if "requestBody" in one else [],
        answers,
    )


def _content(answer: Schema) -> Schema:
    for kind, content in answer.get("content", {}).items():
        if kind == "application/json":
            shape: Schema = content["schema"]
            return shape
        return {"title": "bytes"}
    return {"title": "nothing"}


def _parameter(one: Schema) -> Field:
    description = one.get("description") or one["schema"].get("description", "")
    return Field(one["name"], one["in"], _type(one["schema"]), bool(one.get("required")), description)


def _shape(name: str, one: Schema) -> Shape:
    needed = one.get("required", ())
    fields = [
        Field(key, "", _type(each), key in needed, each.get("description", ""))
        for key, each in one.get("properties", {}).items()
    ]
    return Shape(name, one.get("description", ""), fields, [] if fields else _type(one))


def _type(one: Schema) -> Words:
    """A type in words; a shape's name leads to it."""
    if "$ref" in one:
        name = one["$ref"].rsplit("/", 1)[1]
        return [(name, name)]
    for key in ("anyOf", "oneOf"):
        if key in one:
            return _joined([_type(each) for each in one[key]], " or ")
    if "const" in one:
        return [(json.dumps(one["const"]), "")]
    if "enum" in one:
        some = ", ".join(map(str, one["enum"][:MOST_SHOWN]))
        return [(f"one of {some}{', …' if len(one['enum']) > MOST_SHOWN else ''}", "")]
    if one.get("type") == "array":
        return [("list of ", ""), *_type(one.get("items", {}))]
    return [(_plain(one), "")]


def _joined(parts: list[Words], between: str) -> Words:
    made: Words = []
    for part in parts:
        made += [(between, ""), *part] if made else part
    return made


def _format_number(number: float) -> str:
    return f"{number:,.0f}" if abs(number) >= 1000 else f"{number:g}"


def _plain(one: Schema) -> str:
    kinds = one.get("type", one.get("title", "anything"))
    words = " or ".join(kinds) if isinstance(kinds, list) else str(kinds)
    if "format" in one:
        words = f"{words}, {one['format']}"
    low, high = one.get("minimum"), one.get("maximum")
    if low is not None and high is not None:
        words += (
            f", {_format_number(low)} to {_format_number(high)}"
            if abs(high) < LARGE
            else f", from {_format_number(low)}"
        )
    if "maxLength" in one:
        words += f", at most {one['maxLength']} characters"
    return words
