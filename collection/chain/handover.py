"""The file with which a car is handed over: its exported history and the record of the car, signed as one."""

from collections.abc import Sequence
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from collection.chain.canonical import NotReadable, canonical, read
from collection.chain.links import Facts
from collection.chain.signing import is_signed, public_key, sign
from collection.chain.verdict import Fault, Verdict
from collection.chain.verify import verify

HANDOVER = "longstand-handover-1"
PARTS = {"form", "history", "record", "to", "key", "signature"}


def pack(private: Ed25519PrivateKey, *, history: bytes, record: Facts, to: str) -> bytes:
    """The file's bytes; ``history`` is an exported history of the same installation."""
    facts = {
        "form": HANDOVER, "history": read(history), "record": record, "to": to, "key": public_key(private)
    }  # fmt: skip
    return canonical(facts | {"signature": sign(private, facts)})


def unpack(data: bytes, keys: Sequence[str] = ()) -> tuple[Facts | None, Verdict]:
    """What the file holds and everything that is wrong with it; nothing is held of a file with a fault.

    ``keys`` are the fingerprints of the keys that the receiver was told by another way, if any.
    """
    try:
        facts = read(data)
        fits = isinstance(facts, dict) and facts.keys() == PARTS and facts["form"] == HANDOVER
        if not fits or canonical(facts) != data:
            return None, _wrong("This is no file with which a car was handed over, or it was saved anew.")
    except (NotReadable, ValueError, RecursionError) as error:
        return None, _wrong(f"This is no file with which a car was handed over: {error}.")
    verdict = verify(canonical(facts["history"]), keys=keys)
    if verdict.sound and not _is_one(facts):
        verdict = _wrong("The record and the history in this file were not signed together.")
    return (facts if verdict.sound else None), verdict


def _wrong(text: str) -> Verdict:
    return Verdict([Fault("file", 0, text)])


def _is_one(facts: dict[str, Any]) -> bool:
    unsigned = {name: value for name, value in facts.items() if name != "signature"}
    key, signature = facts["key"], facts["signature"]
    if not all(isinstance(text, str) for text in (key, signature, facts["to"])):
        return False
    return key == facts["history"]["key"] and is_signed(unsigned, key=key, signature=signature)
