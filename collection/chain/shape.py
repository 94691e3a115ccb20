"""What an exported file must look like before any digest in it is worth computing."""

import re
from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from typing import Any

from collection.chain.canonical import LARGEST_WHOLE
from collection.chain.countersigning import COUNTERSIGNED
from collection.chain.statements import FIRST_STATEMENT, STATEMENT

HISTORY = "longstand-history-4"
THIRD_HISTORY = "longstand-history-3"  # as files were written before witnesses stood in them
SECOND_HISTORY = "longstand-history-2"  # as files were written while entries could not be left out whole
FIRST_HISTORY = "longstand-history-1"  # as files were written before the record stood in the chain
SETTINGS = "longstand-settings-1"  # what is set for an organisation or a site
HISTORIES = (HISTORY, THIRD_HISTORY, SECOND_HISTORY, FIRST_HISTORY, SETTINGS)
STATEMENT_FILE = "longstand-statement-file-2"
FIRST_STATEMENT_FILE = "longstand-statement-file-1"

Fits = Callable[[Any], bool]
# a list holds the shape of each of its items, a tuple the shapes of which one's ``form`` decides
Shape = Fits | Mapping[str, Any] | list[Any] | tuple[Any, ...]


def _text(value: Any) -> bool:
    return isinstance(value, str)


def _whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= LARGEST_WHOLE


def _number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _details(value: Any) -> bool:
    return isinstance(value, dict)


def _texts(value: Any) -> bool:
    return isinstance(value, dict) and all(isinstance(text, str) for text in value.values())


def _named(value: Any) -> bool:
    """A keeper's name and the salt with which its digest was made."""
    return (
        isinstance(value, dict)
        and value.keys() == {"salt", "name"}
        and _hex(32)(value["salt"])
        and _text(value["name"])
    )


def _plain(value: Any) -> bool:
    return value is None or isinstance(value, str | bool | int | float)


def _record(value: Any) -> bool:
    return isinstance(value, dict) and all(map(_plain, value.values()))


def _field(value: Any) -> bool:
    """The salt and the digest of one field; no salt where the field is withheld."""
    return (
        isinstance(value, dict)
        and value.keys() == {"salt", "digest"}
        and _or_none(_hex(32))(value["salt"])
        and _hex(64)(value["digest"])
    )


def _fields(value: Any) -> bool:
    return isinstance(value, dict) and all(map(_field, value.values()))


def _instant(value: Any) -> bool:
    if not re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z", value if _text(value) else "", re.ASCII):
        return False
    try:
        datetime.fromisoformat(value)
    except ValueError:
        return False
    return True


def _hex(digits: int) -> Fits:
    return lambda value: _text(value) and re.fullmatch(rf"[0-9a-f]{{{digits}}}", value) is not None


def _or_none(fits: Fits) -> Fits:
    return lambda value: value is None or fits(value)


def _digits(value: Any) -> bool:
    """Bytes of any number, in hexadecimal digits."""
    return _text(value) and len(value) % 2 == 0 and re.fullmatch(r"[0-9a-f]*", value) is not None


def _passkey(value: Any) -> bool:
    return (
        isinstance(value, dict)
        and value.keys() == {"authenticator", "client"}
        and all(map(_digits, value.values()))
    )


def _exactly(text: str) -> Fits:
    return lambda value: _text(value) and bool(value == text)


_CAR = {"marque": _text, "model": _text, "year": _or_none(_whole), "chassis_number": _text}
_SUBJECT = {"of": _text, "name": _text}
_READING = {
    "quantity": _text,
    "value": _number,
    "position": _text,
    "temperature_c": _or_none(_number),
    "rest_hours": _or_none(_number),
}
_ATTACHMENT = {"name": _text, "type": _text, "size": _whole, "digest": _hex(64)}
_ENTRY = {
    "id": _text,
    "kind": _text,
    "done_at": _instant,
    "recorded_at": _instant,
    "by": _text,
    "details": _details,
    "note": _text,
    "corrects": _or_none(_text),
    "key": _text,
    "attachments": [_ATTACHMENT],
    "readings": [_READING],
}
_LINK = {
    "seq": _whole,
    "previous": _hex(64),
    "entry": _text,
    "car": _CAR,
    "written": _hex(64),
    "measured": _hex(64),
    "digest": _hex(64),
}
_STATEMENT = {
    "form": _exactly(FIRST_STATEMENT),
    "by": _text,
    "number": _whole,
    "previous": _hex(64),
    "since": _or_none(_instant),
    "at": _instant,
    "chains": _whole,
    "root": _hex(64),
    "key": _hex(64),
}
_SALTED_STATEMENT = _STATEMENT | {"form": _exactly(STATEMENT), "by": _hex(64)}
_FIRST_ANCHOR = {
    "statement": _STATEMENT,
    "signature": _hex(128),
    "seq": _whole,
    "place": _whole,
    "proof": [_hex(64)],
}
_ANCHOR = _FIRST_ANCHOR | {"statement": (_STATEMENT, _SALTED_STATEMENT), "named": _or_none(_named)}
_HEAD = {"chain": _text, "seq": _whole, "head": _hex(64)}

_WITHHOLDING: dict[str, Shape] = {"anchors": [_ANCHOR], "withheld": _texts}
_HISTORY: dict[str, Shape] = {
    "made_at": _instant,
    "kept_by": _text,
    "chain": _text,
    "car": _CAR,
    "people": _texts,
    "entries": [_ENTRY],
    "anchors": [_FIRST_ANCHOR],
    "key": _hex(64),
    "signature": _hex(128),
}
_THIRD: dict[str, Shape] = {
    **_HISTORY,
    **_WITHHOLDING,
    "links": [_LINK | {"fields": _fields}],
    "record": _record,
}
_STAMP: dict[str, Shape] = {"form": _exactly("time-stamp"), "statement": _hex(64), "response": _digits}
COUNTERSIGNATURE: dict[str, Shape] = {
    "form": _exactly("countersignature"),
    "statement": {
        "form": _exactly(COUNTERSIGNED),
        "chain": _text,
        "seq": _whole,
        "head": _hex(64),
        "as": _text,
        "occasion": _text,
        "by": _hex(64),
        "at": _instant,
        "key": _digits,
    },
    "signature": _digits,
    "named": _or_none(_named),
    "passkey": _or_none(_passkey),
}

SHAPES: dict[str, Shape] = {
    FIRST_HISTORY: {"form": _exactly(FIRST_HISTORY), **_HISTORY, "links": [_LINK]},
    SECOND_HISTORY: {
        "form": _exactly(SECOND_HISTORY),
        **_HISTORY,
        "links": [_LINK | {"fields": _fields}],
        "record": _record,
    },
    THIRD_HISTORY: {**_THIRD, "form": _exactly(THIRD_HISTORY)},
    HISTORY: {**_THIRD, "form": _exactly(HISTORY), "witnesses": [(_STAMP, COUNTERSIGNATURE)]},
    SETTINGS: {
        "form": _exactly(SETTINGS),
        **_HISTORY,
        **_WITHHOLDING,
        "car": _SUBJECT,
        "links": [_LINK | {"car": _SUBJECT, "fields": _fields}],
        "record": _record,
    },
    FIRST_STATEMENT_FILE: {
        "form": _exactly(FIRST_STATEMENT_FILE),
        "statement": _STATEMENT,
        "signature": _hex(128),
        "heads": [_HEAD],
    },
    STATEMENT_FILE: {
        "form": _exactly(STATEMENT_FILE),
        "statement": _SALTED_STATEMENT,
        "signature": _hex(128),
        "heads": [_HEAD],
        "named": _or_none(_named),
    },
}


def misfits(value: Any, shape: Shape, path: str = "") -> Iterator[str]:
    """The paths at which a value does not have the shape."""
    if isinstance(shape, tuple):
        form = value.get("form") if isinstance(value, dict) else None
        shape = next((each for each in shape if each["form"](form)), _none)
    if isinstance(shape, Mapping):
        yield from _misfits_of(value, shape, path)
    elif isinstance(shape, list):
        if not isinstance(value, list):
            yield path
            return
        for place, item in enumerate(value):
            yield from misfits(item, shape[0], f"{path}[{place}]")
    elif not shape(value):
        yield path


def _misfits_of(value: Any, shape: Mapping[str, Any], path: str) -> Iterator[str]:
    if not isinstance(value, dict):
        yield path
        return
    yield from (f"{path}.{name}".lstrip(".") for name in sorted(value.keys() ^ shape.keys()))
    for name in shape.keys() & value.keys():
        yield from misfits(value[name], shape[name], f"{path}.{name}".lstrip("."))


def _none(_value: Any) -> bool:
    return False
