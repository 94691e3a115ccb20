"""The signed statement of a day: which chains had grown, to where."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from collection.chain import tree
from collection.chain.canonical import canonical
from collection.chain.links import SALT_BYTES, Facts, field_digest, instant
from collection.chain.signing import public_key, sign

STATEMENT = "longstand-statement-2"
FIRST_STATEMENT = "longstand-statement-1"  # as they were signed while the keeper stood in them by name
SALT_DIGITS = 2 * SALT_BYTES
BY = "by"  # the field under which the keeper's name is digested

Head = tuple[str, int, str]  # chain, sequence number of its newest link, that link's digest


def leaf(chain: str, seq: int, head: str) -> bytes:
    """A chain's line in a statement, as it is hashed."""
    return canonical([chain, seq, head])


def keeper(private: Ed25519PrivateKey, name: str) -> Facts:
    """The keeper's name with its salt: the same for all statements under a key and a name, and no others."""
    return {"salt": sign(private, ["keeper", name])[:SALT_DIGITS], "name": name}


def names(named: Facts, statement: Facts) -> bool:
    """Whether a statement was made by whom this names."""
    return field_digest(named["salt"], BY, named["name"]) == str(statement[BY])


def same_keeper(one: Facts, other: Facts) -> bool:
    """Whether two statements, each with whom it names if that is told, are of one keeper."""
    if one["statement"][BY] == other["statement"][BY]:
        return True
    name = _name(one)
    return name is not None and name == _name(other)


def _name(signed: Facts) -> str | None:
    if signed["statement"]["form"] == FIRST_STATEMENT:
        return str(signed["statement"][BY])
    return str(signed["named"]["name"]) if signed["named"] else None


def make(  # a statement has that many parts; keywords only
    private: Ed25519PrivateKey,
    heads: Sequence[Head],
    *,
    by: Facts,
    number: int,
    since: datetime | None,
    at: datetime,
    previous: str,
) -> tuple[Facts, str, list[list[str]]]:
    """Statement, signature, and for each head its proof in hexadecimal digits; ``by``: see ``keeper``.

    ``heads`` are the chains that grew since the statement before (``since``, ``previous``), so a
    chain that is not among them had not grown by ``at``.
    """
    root, proofs = tree.grow([leaf(*head) for head in heads])
    statement: Facts = {
        "form": STATEMENT,
        BY: field_digest(by["salt"], BY, by["name"]),
        "number": number,
        "previous": previous,
        "since": instant(since) if since else None,
        "at": instant(at),
        "chains": len(heads),
        "root": root.hex(),
        "key": public_key(private),
    }
    return statement, sign(private, statement), [[step.hex() for step in proof] for proof in proofs]


def covers(statement: Facts, *, chain: str, seq: int, head: str, place: int, proof: Sequence[str]) -> bool:
    """Whether the statement's root stands over this head."""
    steps = [bytes.fromhex(step) for step in proof]
    root = tree.root_from(leaf(chain, seq, head), place, statement["chains"], steps)
    return root is not None and root == bytes.fromhex(statement["root"])


def holds(statement: Facts, heads: Sequence[Any]) -> bool:
    """Whether these are all the heads that the statement was made of, in its order."""
    root, _ = tree.grow([leaf(*head) for head in heads])
    return len(heads) == statement["chains"] and root == bytes.fromhex(statement["root"])
