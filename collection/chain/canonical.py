"""JSON in one form only, so that the same facts always give the same bytes and the same digest.

The form is that of RFC 8785, JSON Canonicalization Scheme (2020); the digest is SHA-256 (FIPS 180-4).
"""

import hashlib
import json
from typing import Any

import rfc8785

LARGEST_WHOLE = 2**53 - 1  # beyond this a JSON number is a double: RFC 8785, appendix B


class NotReadable(ValueError):
    """The bytes are not JSON that one reader could only understand in one way."""


def canonical(value: Any) -> bytes:
    """The value as RFC 8785 bytes; ValueError if JSON cannot say it exactly."""
    return _write(value).encode() if _is_plain(value) else rfc8785.dumps(value)


def _is_plain(value: Any) -> bool:
    """Whether Python's own writer, much faster, gives the same bytes: no fractions, names in ASCII."""
    kind = type(value)
    if kind is str or value is None or kind is bool:
        return True
    if kind is int:
        return abs(int(value)) <= LARGEST_WHOLE
    if kind is list:
        return all(map(_is_plain, value))
    return kind is dict and all(
        type(name) is str and name.isascii() and _is_plain(item) for name, item in value.items()
    )


_write = json.JSONEncoder(ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode


def digest(value: Any) -> str:
    """SHA-256 of the canonical form, 64 hexadecimal digits."""
    return hashlib.sha256(canonical(value)).hexdigest()


def read(data: bytes) -> Any:
    """The value that JSON bytes hold; NotReadable says why they hold none."""
    try:
        return json.loads(
            data.decode("utf-8"), parse_int=_whole, parse_constant=_no_constant, object_pairs_hook=_once
        )
    except RecursionError as error:
        raise NotReadable("it is nested too deeply") from error
    except ValueError as error:
        raise NotReadable(str(error)) from error


def _whole(digits: str) -> int | float:
    """Every reader of JSON agrees on whole numbers up to 2^53 only; larger ones are doubles."""
    value = float(digits)
    return int(digits) if abs(value) <= LARGEST_WHOLE else value


def _no_constant(name: str) -> Any:
    raise NotReadable(f"{name} is no JSON number")


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    value = dict(pairs)
    if len(value) != len(pairs):
        raise NotReadable("a name stands twice in one object")
    return value
